"""Which inputs move the answer; or the answer at one part of the points that are tried."""

import numpy as np
import pandas as pd

from darkspell.climate import site_climate
from darkspell.core.atomic_files import write_numbers, write_table
from darkspell.design.sensitivity import COLUMNS, point_values, points_of, sensitivity
from darkspell.pipeline.chunks import some_of
from darkspell.pipeline.script_context import job, telling
from darkspell.simulation.stored import load_system
from darkspell.weather.site_sky import sky_of
from darkspell.weather.stored_sites import site_key

with job(snakemake) as (path, study), telling(snakemake) as tell:
    known, points, part = {}, points_of(study), snakemake.wildcards.get("part")

    def site_of(one):
        """Climate and sky of a changed study, made once for each place and set of planes."""
        key = site_key(one)
        if key not in known:
            known[key] = site_climate(one, path.parent), sky_of(one)
        return known[key]

    if snakemake.input.get("pieces"):
        values = np.concatenate([np.load(piece) for piece in snakemake.input.pieces])
    else:
        if part:
            points = some_of(points, int(part), int(snakemake.wildcards.parts))
        base = load_system(study, snakemake.input.sites)
        values = point_values(base, site_of, points, snakemake.threads, tell)
    if part:
        write_numbers(snakemake.output[0], values)
    else:
        write_table(snakemake.output[0], pd.DataFrame(sensitivity(study, values), columns=COLUMNS))
