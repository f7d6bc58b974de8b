def people_tables(wildcards):
    """Tables on the people, of the studies that ask for them."""
    people = STUDIES[wildcards.study].study.people
    asked = {"leaving.csv": people.leaving, "adapting.csv": people.adapting}
    return [
        f"results/{wildcards.study}/{name}"
        for name, section in asked.items()
        if section
    ]


rule leaving:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/leaving.csv",
    log:
        "results/{study}/work/log/leaving.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("leaving"),
    message:
        "{wildcards.study}: how long the place may be left to itself"
    script:
        "../scripts/leaving.py"


rule adapting:
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/adapting.csv",
    log:
        "results/{study}/work/log/adapting.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("adapting"),
    message:
        "{wildcards.study}: what it brings that people save while the monitor reads low"
    script:
        "../scripts/adapting.py"
