def ageing_of(wildcards):
    """The table on the years to come, of the studies that ask for it."""
    study = STUDIES[wildcards.study].study
    return [f"results/{wildcards.study}/ageing.csv"] if study.ageing else []


rule ageing:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/ageing.csv",
    log:
        "results/{study}/work/log/ageing.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("ageing"),
    message:
        "{wildcards.study}: the bank new, in mid-life and worn"
    script:
        "../scripts/ageing.py"
