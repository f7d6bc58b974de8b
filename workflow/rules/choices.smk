rule grid:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/work/grid.csv",
    log:
        "results/{study}/work/log/grid.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("grid"),
    message:
        "{wildcards.study}: loss of load of every array and bank size"
    script:
        "../scripts/grid.py"


rule sizing:
    input:
        "results/{study}/work/grid.csv",
    output:
        "results/{study}/sizing.csv",
    log:
        "results/{study}/work/log/sizing.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("sizing"),
    message:
        "{wildcards.study}: prices, and the cheapest design that meets the target"
    script:
        "../scripts/sizing.py"


rule whatifs:
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/whatifs.csv",
    log:
        "results/{study}/work/log/whatifs.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("whatifs"),
    message:
        "{wildcards.study}: what-ifs on the same draws"
    script:
        "../scripts/whatifs.py"
