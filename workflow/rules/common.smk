# What every rule needs: the study's file, the members asked for, and the key that makes a result stale.

# Half of one machine for each long job; on a cluster, where nobody gives --cores, two of a node's.
CORES = workflow.resource_settings.cores or 4
HALF = max(1, CORES // 2)

# Jobs that take longest start first. The years and the grid also share out the compilation of all kernels that
# the other jobs need, which would wait for them on a core of their own.
FIRST, SECOND, THIRD = 4, 3, 2


def study_file(wildcards):
    return selector(STUDIES[wildcards.study])


def members_asked(wildcards):
    return config.get("members")


def key_of(stage):
    """Function of the wildcards: hash of all that a stage's result depends on."""

    def key(wildcards):
        return stage_key(STUDIES[wildcards.study], stage)

    return key


def pieces(study, name, count):
    """Files of a work that is cut into parts, `name` with a star in it; none if it is done in one."""
    numbers = range(1, count + 1) if count > 1 else ()
    return [
        f"results/{study}/work/{name.replace('*', f'{n}-of-{count}')}" for n in numbers
    ]


def member_pieces(wildcards):
    count = member_parts(STUDIES[wildcards.study].study, config.get("parts"))
    return pieces(wildcards.study, "members/*.npz", count)


def member_threads(wildcards):
    """All cores where many years are put together: no other large job then stands beside it in memory."""
    return (
        max(HALF, workflow.resource_settings.cores or 0)
        if member_pieces(wildcards)
        else HALF
    )


def grid_pieces(wildcards):
    count = grid_parts(STUDIES[wildcards.study].study, config.get("parts"))
    return pieces(wildcards.study, "grid/*.csv", count)


def whatifs_pieces(wildcards):
    count = whatif_parts(STUDIES[wildcards.study].study, config.get("parts"))
    return pieces(wildcards.study, "whatifs/*.csv", count)


def sensitivity_pieces(wildcards):
    count = sensitivity_parts(STUDIES[wildcards.study].study, config.get("parts"))
    return pieces(wildcards.study, "sensitivity/*.npy", count)


def measured_years_of(wildcards):
    """Tables of the replay of a study that has measured years."""
    if not STUDIES[wildcards.study].study.replays:
        return []
    return [
        f"results/{wildcards.study}/{name}"
        for name in ("measured_years.csv", "measured_comparison.csv")
    ]
