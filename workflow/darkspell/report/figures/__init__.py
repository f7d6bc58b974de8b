"""Figures of a study: one question each, its title the finding, from the tables that a study leaves behind.

Functions named ``draw_...`` take axes and give them back; `write_figures` alone opens and writes files.
"""


def write_figures(folder, study, out, tell=None, workers=1, started=None):
    """Write all figures of a study, see `darkspell.report.figures.write.write_figures`.

    Parameters
    ----------
    folder : pathlib.Path
        Results of the study.
    study : darkspell.study.Study
    out : pathlib.Path
        Folder of the figures.
    tell : callable, optional
        Told how far the work is.
    workers : int
        Processes that draw.
    started : callable, optional
        Called first in each further process.
    """
    from darkspell.report.figures.write import write_figures as write

    return write(folder, study, out, tell, workers, started)
