"""Measured years of a study's record, run as they are, beside its synthetic ones."""

import json
from pathlib import Path

from darkspell.climate.record import record_of
from darkspell.climate.record.study_years import study_years
from darkspell.core.atomic_files import write_json, write_table
from darkspell.pipeline.script_context import job
from darkspell.report.tables.measured_comparison import comparison
from darkspell.report.tables.measured_years import faults_table, measured_years_table
from darkspell.simulation.run import simulate
from darkspell.simulation.stored import load_system
from darkspell.statistics.summary import summary
from darkspell.weather.measured_years import replayed

with job(snakemake) as (path, study):
    record = record_of(study, path.parent)
    parts = load_system(study, snakemake.input.sites)
    seed, out = study.engine.seed, snakemake.output
    years = study_years(record, parts.calendar, study.climate.fill_days, seed)
    measured = replayed(parts, years)
    result = simulate(measured, workers=snakemake.threads)
    found = summary(result.members, result.autonomy, measured.parameter_draw, seed)
    synthetic = json.loads(Path(snakemake.input.summary).read_text(encoding="utf-8"))
    write_table(out.faults, faults_table(record))
    write_table(out.years, measured_years_table(result.members, years))
    write_table(out.comparison, comparison(synthetic, found))
    write_json(out.summary, found)
