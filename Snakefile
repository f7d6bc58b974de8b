# The way of a study through the rooms; the arithmetic is in workflow/darkspell, the rules in workflow/rules.
# One study or several: snakemake --cores all [--configfile config/a.yaml config/b.yaml]
# Study files are read by darkspell itself, never merged: of Snakemake's configuration only the paths count.
# darkspell run names them in config["studies"], so that Snakemake's own reader never sees them.
from pathlib import Path
from types import SimpleNamespace

from snakemake.exceptions import WorkflowError

from darkspell.cli.locks import guard
from darkspell.core.errors import StudyError
from darkspell.pipeline.chunks import (
    grid_parts,
    member_parts,
    sensitivity_parts,
    whatif_parts,
)
from darkspell.pipeline.dependencies import stage_hash
from darkspell.pipeline.forked_jobs import fork_local_jobs
from darkspell.pipeline.stages import load_studies, selector, stage_key
from darkspell.report.document import typesetter

ROOT = Path(workflow.basedir)
DEFAULT = ROOT / "config" / "tarn_hut.yaml"

if workflow.is_main_process:
    fork_local_jobs()

try:
    STUDIES = load_studies(
        config.get("studies") or workflow.configfiles or [DEFAULT],
        config.get("members"),
    )
    if workflow.is_main_process and not workflow.dryrun and "studies" not in config:
        guard(STUDIES, Path.cwd())
except StudyError as fault:
    raise WorkflowError(str(fault)) from None


wildcard_constraints:
    study="|".join(STUDIES),
    part=r"\d+",
    parts=r"\d+",


include: "workflow/rules/common.smk"
include: "workflow/rules/weather.smk"
include: "workflow/rules/simulate.smk"
include: "workflow/rules/occupancy.smk"
include: "workflow/rules/measured_years.smk"
include: "workflow/rules/ageing.smk"
include: "workflow/rules/disconnects.smk"
include: "workflow/rules/design.smk"
include: "workflow/rules/report.smk"
include: "workflow/rules/validation.smk"


rule all:
    default_target: True
    input:
        wanted,
