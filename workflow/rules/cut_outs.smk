def cut_outs_of(wildcards):
    """The table on cut-outs, of the studies that hang one on a monitor's reading."""
    study = STUDIES[wildcards.study].study
    return [f"results/{wildcards.study}/cut_outs.csv"] if study.cut_outs else []


rule cut_outs:
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/cut_outs.csv",
    log:
        "results/{study}/work/log/cut_outs.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("cut_outs"),
    message:
        "{wildcards.study}: cut-outs that hang on a reading"
    script:
        "../scripts/cut_outs.py"
