rule members_part:
    input:
        sites="results/{study}/work/sites.npz",
    output:
        temp("results/{study}/work/members/{part}-of-{parts}.npz"),
    log:
        "results/{study}/work/log/members-{part}-of-{parts}.txt",
    threads: HALF
    params:
        study=study_file,
        members=members_asked,
        key=key_of("members"),
    message:
        "{wildcards.study}: part {wildcards.part} of {wildcards.parts} of the years"
    script:
        "../scripts/members_part.py"


rule members:
    input:
        sites="results/{study}/work/sites.npz",
        pieces=member_pieces,
    output:
        members="results/{study}/members.csv",
        months="results/{study}/months.csv",
        events="results/{study}/events.csv",
        lengths="results/{study}/event_lengths.csv",
        autonomy="results/{study}/autonomy.csv",
        recovery="results/{study}/recovery.csv",
        monitors="results/{study}/monitors.csv",
        error_percentiles="results/{study}/monitor_error_percentiles.csv",
        expected="results/{study}/expected_year.csv",
        settings="results/{study}/monitor_settings.csv",
        kinds="results/{study}/monitor_kinds.csv",
        sources="results/{study}/energy_sources.csv",
        snow="results/{study}/snow.csv",
        hourly="results/{study}/hourly.nc",
        uncertainty="results/{study}/uncertainty.csv",
        summary="results/{study}/summary.json",
    log:
        "results/{study}/work/log/members.txt",
    priority: FIRST
    threads: member_threads
    params:
        study=study_file,
        members=members_asked,
        key=key_of("members"),
    message:
        "{wildcards.study}: a year of hours for every member, with monitors and statistics"
    script:
        "../scripts/members.py"
