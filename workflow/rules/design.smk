rule grid_part:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        temp("results/{study}/work/grid/{part}-of-{parts}.csv"),
    log:
        "results/{study}/work/log/grid-{part}-of-{parts}.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("grid"),
    message:
        "{wildcards.study}: part {wildcards.part} of {wildcards.parts} of the designs"
    script:
        "../scripts/grid.py"


rule grid:
    input:
        sites="results/{study}/work/sites.npz",
        pieces=grid_pieces,
    output:
        "results/{study}/work/grid.csv",
    log:
        "results/{study}/work/log/grid.txt",
    priority: SECOND
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


rule whatifs_part:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        temp("results/{study}/work/whatifs/{part}-of-{parts}.csv"),
    log:
        "results/{study}/work/log/whatifs-{part}-of-{parts}.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("whatifs"),
    message:
        "{wildcards.study}: part {wildcards.part} of {wildcards.parts} of the what-ifs"
    script:
        "../scripts/whatifs.py"


rule whatifs:
    input:
        sites="results/{study}/work/sites.npz",
        pieces=whatifs_pieces,
    output:
        "results/{study}/whatifs.csv",
    log:
        "results/{study}/work/log/whatifs.txt",
    priority: THIRD
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("whatifs"),
    message:
        "{wildcards.study}: what-ifs on the same draws"
    script:
        "../scripts/whatifs.py"


rule sweeps:
    input:
        whatifs="results/{study}/whatifs.csv",
    output:
        "results/{study}/sweeps.csv",
    log:
        "results/{study}/work/log/sweeps.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("sweeps"),
    message:
        "{wildcards.study}: steps of the sweeps"
    script:
        "../scripts/sweeps.py"


rule costs:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/costs.csv",
    log:
        "results/{study}/work/log/costs.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("costs"),
    message:
        "{wildcards.study}: first cost and cost over life"
    script:
        "../scripts/costs.py"


def design_tables(wildcards):
    """Tables on choices, of the studies that ask for them."""
    study = STUDIES[wildcards.study].study
    asked = {
        "catalogue_designs.csv": study.sizing.catalogue,
        "remedies.csv": study.sizing.remedies,
        "sensitivity.csv": study.sensitivity,
        "sweeps.csv": study.sweeps,
    }
    return [f"results/{wildcards.study}/{name}" for name, on in asked.items() if on]


rule catalogue_designs:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/catalogue_designs.csv",
    log:
        "results/{study}/work/log/catalogue_designs.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("catalogue_designs"),
    message:
        "{wildcards.study}: the cheapest design of whole pieces"
    script:
        "../scripts/catalogue_designs.py"


rule remedies:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        "results/{study}/remedies.csv",
    log:
        "results/{study}/work/log/remedies.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("remedies"),
    message:
        "{wildcards.study}: what would help, and what it costs"
    script:
        "../scripts/remedies.py"


rule sensitivity_part:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        temp("results/{study}/work/sensitivity/{part}-of-{parts}.npy"),
    log:
        "results/{study}/work/log/sensitivity-{part}-of-{parts}.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("sensitivity"),
    message:
        "{wildcards.study}: part {wildcards.part} of {wildcards.parts} of the points of the sensitivity"
    script:
        "../scripts/sensitivity.py"


rule sensitivity:
    input:
        sites="results/{study}/work/sites.npz",
        pieces=sensitivity_pieces,
    output:
        "results/{study}/sensitivity.csv",
    log:
        "results/{study}/work/log/sensitivity.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("sensitivity"),
    message:
        "{wildcards.study}: which inputs move the answer"
    script:
        "../scripts/sensitivity.py"
