rule measured_years:
    input:
        sites="results/{study}/work/sites.npz",
        summary="results/{study}/summary.json",
    output:
        years="results/{study}/measured_years.csv",
        comparison="results/{study}/measured_comparison.csv",
        summary="results/{study}/measured_summary.json",
        faults="results/{study}/record_faults.csv",
    log:
        "results/{study}/work/log/measured_years.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("measured_years"),
    message:
        "{wildcards.study}: measured years run as they are"
    script:
        "../scripts/measured_years.py"
