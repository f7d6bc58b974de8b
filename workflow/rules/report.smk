TABLES = [
    "members.csv",
    "months.csv",
    "autonomy.csv",
    "recovery.csv",
    "event_lengths.csv",
    "energy_sources.csv",
    "monitors.csv",
    "monitor_error_percentiles.csv",
    "expected_year.csv",
    "monitor_settings.csv",
    "monitor_kinds.csv",
    "hourly.nc",
    "summary.json",
]


def pdfs(*files):
    """The files where PDFs can be written, else none: see the extra `pdf`."""
    return files if typesetter.installed() else ()


CHOICES = ["sizing.csv", "whatifs.csv", "costs.csv"]


def tables_asked(wildcards):
    """Tables that only some studies ask for; a proposal has a section on each of them."""
    asked = (
        occupancy_tables(wildcards)
        + measured_years_of(wildcards)
        + design_tables(wildcards)
    )
    return asked + ageing_of(wildcards) + disconnects_of(wildcards)


UNTIL = ("numbers", "figures", "options", "proposal")


def wanted(wildcards):
    """Files that a run makes: the tables alone, with figures, with the proposal, or side by side (`until`)."""
    until = config.get("until", UNTIL[-1])
    if until not in UNTIL:
        raise WorkflowError(
            f"until: {until!r} is not possible; give one of {', '.join(UNTIL)}"
        )
    files = expand("results/{study}/provenance.json", study=STUDIES)
    for study in STUDIES:
        tables = [f"results/{study}/{table}" for table in TABLES + CHOICES]
        tables += tables_asked(SimpleNamespace(study=study))
        ends = {
            "figures": [f"results/{study}/figures"],
            "proposal": [f"results/{study}/proposal.html"],
        }
        ends["options"] = ends["proposal"]
        files += ends.get(until, tables)
    return files + (["results/options/proposal.html"] if until == "options" else [])


rule provenance:
    input:
        expand("results/{{study}}/{table}", table=TABLES + CHOICES),
        measured_years=measured_years_of,
    output:
        "results/{study}/provenance.json",
    log:
        "results/{study}/work/log/provenance.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("provenance"),
    message:
        "{wildcards.study}: inputs, versions and the source of every constant"
    script:
        "../scripts/provenance.py"


rule figures:
    input:
        expand("results/{{study}}/{table}", table=TABLES + CHOICES),
        asked=tables_asked,
    output:
        directory("results/{study}/figures"),
    log:
        "results/{study}/work/log/figures.txt",
    # First of what is left, on all cores: the proposal waits for it.
    priority: 1
    threads: CORES
    params:
        study=study_file,
        members=members_asked,
        key=key_of("figures"),
    message:
        "{wildcards.study}: figures"
    script:
        "../scripts/figures.py"


rule proposal:
    input:
        expand("results/{{study}}/{table}", table=TABLES + CHOICES),
        asked=tables_asked,
        sites="results/{study}/work/sites.npz",
        figures="results/{study}/figures",
    output:
        "results/{study}/proposal.html",
        "results/{study}/proposal.docx",
        "results/{study}/tables.xlsx",
        *pdfs("results/{study}/proposal.pdf", "results/{study}/annex.pdf"),
        annex="results/{study}/annex.html",
        annex_docx="results/{study}/annex.docx",
        bill="results/{study}/bill_of_materials.csv",
        sheet="results/{study}/expected_year.html",
    log:
        "results/{study}/work/log/proposal.txt",
    params:
        study=study_file,
        members=members_asked,
        key=key_of("proposal"),
    message:
        "{wildcards.study}: the proposal"
    script:
        "../scripts/proposal.py"


# Several studies in one proposal: snakemake --cores all options --configfile config/a.yaml config/b.yaml
rule options:
    input:
        expand("results/{study}/proposal.html", study=STUDIES),
        sites=expand("results/{study}/work/sites.npz", study=STUDIES),
    output:
        "results/options/proposal.html",
        "results/options/proposal.docx",
        *pdfs("results/options/proposal.pdf"),
    log:
        "results/options/log.txt",
    params:
        studies=[selector(entry) for entry in STUDIES.values()],
        members=config.get("members"),
        key=[stage_key(entry, "proposal") for entry in STUDIES.values()],
    message:
        "options: one proposal of {params.studies}"
    script:
        "../scripts/options.py"
