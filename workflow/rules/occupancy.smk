def occupancy_tables(wildcards):
    """Tables on the people, of the studies that ask for them."""
    people = STUDIES[wildcards.study].study.occupancy
    asked = {"unattended.csv": people.unattended, "saving.csv": people.saving}
    return [
        f"results/{wildcards.study}/{name}"
        for name, section in asked.items()
        if section
    ]


rule unattended:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/unattended.csv",
    log:
        "results/{study}/work/log/unattended.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("unattended"),
    message:
        "{wildcards.study}: how long the place may be left to itself"
    script:
        "../scripts/unattended.py"


rule saving:
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/saving.csv",
    log:
        "results/{study}/work/log/saving.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("saving"),
    message:
        "{wildcards.study}: what it brings that people save while the monitor reads low"
    script:
        "../scripts/saving.py"
