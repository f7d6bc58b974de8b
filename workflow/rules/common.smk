# What every rule needs: the study's file, the members asked for, and the key that makes a result stale.

HALF = max(1, workflow.cores // 2)


def study_file(wildcards):
    return str(STUDIES[wildcards.study].path)


def members_asked(wildcards):
    return config.get("members")


def key_of(stage):
    """Function of the wildcards: hash of all that a stage's result depends on."""

    def key(wildcards):
        return stage_key(STUDIES[wildcards.study], stage)

    return key
