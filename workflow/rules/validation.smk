rule validation:
    output:
        page="results/validation/validation.html",
        tables=expand(
            "results/validation/{table}.csv", table=["storage", "stations", "headline"]
        ),
    log:
        "results/validation/log.txt",
    threads: 2 * HALF
    params:
        stations=config.get("stations"),
        key=stage_hash("validation.py"),
    message:
        "the weather model against measured stations"
    script:
        "../scripts/validation.py"
