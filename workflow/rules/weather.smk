rule site:
    output:
        "results/{study}/work/sites.npz",
    log:
        "results/{study}/work/log/site.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("site"),
    message:
        "{wildcards.study}: sun, clear sky and climate of the site"
    script:
        "../scripts/site.py"
