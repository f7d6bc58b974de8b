rule replay:
    input:
        sites="results/{study}/work/sites.npz",
        summary="results/{study}/summary.json",
    output:
        years="results/{study}/replay.csv",
        comparison="results/{study}/replay_comparison.csv",
        summary="results/{study}/replay_summary.json",
        faults="results/{study}/record_faults.csv",
    log:
        "results/{study}/work/log/replay.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("replay"),
    message:
        "{wildcards.study}: measured years run as they are"
    script:
        "../scripts/replay.py"
