"""The weather model judged by measured stations; a page and tables."""

import sys
from pathlib import Path

from darkspell.core.errors import StudyError
from darkspell.validation.run import write_chapter

try:
    write_chapter(snakemake.params.stations, Path(snakemake.output.page).parent, workers=snakemake.threads)
except StudyError as fault:
    Path(snakemake.log[0]).write_text(f"{fault}\n", encoding="utf-8")
    sys.exit(str(fault))
