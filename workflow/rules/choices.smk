rule grid:
    message:
        "{wildcards.study}: loss of load of every array and bank size"
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/work/grid.csv",
    log:
        "results/{study}/work/log/grid.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("grid"),
    threads: HALF
    script:
        "../scripts/grid.py"


rule sizing:
    message:
        "{wildcards.study}: prices, and the cheapest design that meets the target"
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
    script:
        "../scripts/sizing.py"


rule whatifs:
    message:
        "{wildcards.study}: what-ifs on the same draws"
    input:
        sites="results/{study}/work/sites.npz",
        members="results/{study}/members.csv",
    output:
        "results/{study}/whatifs.csv",
    log:
        "results/{study}/work/log/whatifs.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("whatifs"),
    threads: HALF
    script:
        "../scripts/whatifs.py"
