"""Tables of the validation chapter."""

import numpy as np

from darkspell.core.calendar import MONTH_NAMES
from darkspell.validation.judge import LAGS


def storage_table(judged):
    """Rows of storage.csv: a station, source, bank and wanted share each.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged
    """
    import pandas as pd

    return pd.DataFrame([{"station": one.station.name, **cell} for one in judged for cell in one.cells])


def stations_table(judged):
    """Rows of stations.csv: what was counted at each station, measured and by source.

    Parameters
    ----------
    judged : list of darkspell.validation.judge.Judged
    """
    import pandas as pd

    rows = []
    for one in judged:
        site, record = one.station.site, one.station.record
        for source, told in one.statistics.items():
            row = {
                "station": one.station.name,
                "latitude": site.latitude_deg,
                "longitude": site.longitude_deg,
                "years": record.span.replace(" to ", "-"),
                "days_set_aside": int((~np.isfinite(record.kt) & ~record.dark).sum()),
                "of": source,
                "joint_probability": one.probability.get(source, np.nan),
                "farthest_out": " ".join(f"{name} {z:+.1f}" for name, z in one.farthest.get(source, [])),
                "winter_dark_share": told["dark_share"],
                "longest_median": told["longest"][0],
                "longest_one_in_ten": told["longest"][1],
            }
            row |= {
                f"kt_{name[:3].lower()}": value for name, value in zip(MONTH_NAMES, told["kt"], strict=True)
            }
            row |= {f"lag_{lag}": value for lag, value in zip(LAGS, told["lags"], strict=True)}
            names = [*map(str, range(1, 11)), "11_or_more"]
            row |= {f"spells_{name}": value for name, value in zip(names, told["spells"], strict=True)}
            rows.append(row)
    return pd.DataFrame(rows)


def headline_table(heads):
    """Rows of headline.csv: how each source does over all stations.

    Parameters
    ----------
    heads : dict
        All stations together, by source and wanted share.
    """
    import pandas as pd

    return pd.DataFrame(
        [{"source": source, "wanted": wanted, **head} for (source, wanted), head in heads.items()]
    )
