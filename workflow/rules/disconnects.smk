def disconnects_of(wildcards):
    """The table on cut-outs, of the studies that hang one on a monitor's reading."""
    study = STUDIES[wildcards.study].study
    return [f"results/{wildcards.study}/disconnects.csv"] if study.disconnects else []


rule disconnects:
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/disconnects.csv",
    log:
        "results/{study}/work/log/disconnects.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("disconnects"),
    message:
        "{wildcards.study}: cut-outs that hang on a reading"
    script:
        "../scripts/disconnects.py"
