"""Hours of load for many members: random from day to day, true to the budget in energy.

Each appliance, member and day draws three numbers from the stream ``loads/<name>``: whether it is used, how
much (a factor with mean one on its energy), and when the run starts within its window. A run is contiguous;
an appliance that cycles through the whole day, or fills nearly all of its window, is spread evenly instead
(the limits are in the table of constants). A run across midnight belongs to the day of its start, and the
last night of the year runs into the first morning.

What follows the temperature runs its share of each hour of its window instead. Measured hours are taken as
they are: a whole year shifted by some weeks, one shift a member; fewer days or more in a drawn order.
"""

from typing import NamedTuple

import numpy as np

from darkspell.core.calendar import DAYS, HOURS
from darkspell.core.constants import constant
from darkspell.core.jit import inlined, kernel, part
from darkspell.core.keyed_random import philox, stream_key
from darkspell.loads.random_factors import STEPS, day_factors, uncertainty_factors

_TO_UNIT = np.float32(2.0**-24)
_SPAN = 48  # a run begins and ends within two days


def load_block(
    appliances,
    calendar,
    members,
    parameter_draw,
    seed,
    uncertainty_pct,
    temp_air=None,
    out=None,
    room="loads",
):
    """Hourly loads of a batch of members.

    Parameters
    ----------
    appliances : list of Appliance
        Rows of the budget, see `darkspell.loads.budget.appliances_from`.
    calendar : darkspell.core.calendar.Calendar
        The study year.
    members : array_like of int
        Members of the batch, shape [L].
    parameter_draw : array_like of int
        Parameter draw of each member, shape [L].
    seed : int
        The study's seed.
    uncertainty_pct : float
        Standard deviation of the whole budget [%], one value per parameter draw.
    temp_air : numpy.ndarray, optional
        Air temperature [degC], float32 [8760, L]; needed where an appliance follows it.
    out : numpy.ndarray, optional
        Array to fill, float32 [5, 8760, L]; the returned arrays are views of it. Fresh memory costs more
        than the arithmetic, so a caller with many batches hands the same one back.
    room : str, optional
        First part of the streams' names.

    Returns
    -------
    essential, deferrable : numpy.ndarray
        Mean power of each hour by tier [W], float32 [8760, L]; critical load is counted as essential.
    peak : numpy.ndarray
        Largest power within the hour [W], float32 [8760, L]: everything that runs in the hour runs at once,
        and the biggest starting surge among it (one unit) comes on top.
    past_monitor : numpy.ndarray
        Part of the mean power that the monitor's shunt does not see [W], float32 [8760, L].
    always : numpy.ndarray
        Mean power of what is never disconnected [W], float32 [8760, L].

    Notes
    -----
    This uncertainty scales the running powers, not the starting surges.
    """
    members = np.asarray(members, dtype=np.uint64)
    draw_factor = uncertainty_factors(parameter_draw, seed, uncertainty_pct)
    rows, tables, series = _rows(appliances, seed, room)
    use = np.array([one.use_by_date()[calendar.day_of_year - 1] for one in appliances], np.float32)
    out = np.empty((5, HOURS, members.size), np.float32) if out is None else out
    temp = np.zeros((HOURS, members.size), np.float32) if temp_air is None else temp_air
    first_day = np.int64(calendar.first_day)
    _fill(rows, tables, series, use.reshape(-1, DAYS), first_day, members, draw_factor, temp, out)
    return out[0], out[1], out[2], out[3], out[4]


_ROW = np.dtype(
    [
        ("key", np.uint64),
        ("threshold", np.uint64),
        ("tier", np.int64),
        ("even", np.bool_),
        ("past", np.bool_),
        ("start", np.float32),
        ("length", np.float32),
        ("hours", np.float32),
        ("power", np.float32),
        ("surge", np.float32),
        ("driven", np.bool_),
        ("full", np.float32),
        ("none", np.float32),
        ("low", np.float32),
        ("high", np.float32),
        ("first", np.int64),
        ("days", np.int64),
    ]
)


class Ring(NamedTuple):
    """Rows of the ring of two days in which runs are added up; float32 [48, lanes] each, in W."""

    essential: int = 0
    deferrable: int = 1
    running: int = 2
    past_monitor: int = 3
    surge: int = 4
    uninterruptible: int = 5


RING = Ring()
_TIER_ROW = {
    "essential": RING.essential, "deferrable": RING.deferrable, "critical": RING.essential,
    "uninterruptible": RING.uninterruptible,
}  # fmt: skip


def _rows(appliances, seed, room):
    """Appliances as records, their tables of day factors, and all measured days one after the other."""
    rows = np.zeros(len(appliances), _ROW)
    tables = np.ones((len(appliances), STEPS), np.float32)
    series = [one.series for one in appliances if one.series is not None]
    first = 0
    for i, a in enumerate(appliances):
        days = 0 if a.series is None else len(a.series)
        rows[i] = (
            stream_key(seed, f"{room}/{a.name}"),
            round(a.chance_of_use * 2.0**32),
            _TIER_ROW[a.tier],
            is_even(a),
            a.past_monitor,
            a.window_start_h % 24.0,
            a.window_length,
            a.hours_per_day,
            a.watts * a.count,
            a.surge,
            a.warmth.driven,
            *a.warmth[:4],
            first,
            days,
        )
        first += days
        if a.hours_per_day > 0.0:
            tables[i] = day_factors(a.spread, a.window_length / a.hours_per_day)
    return rows, tables, np.concatenate(series) if series else np.zeros((1, 24), np.float32)


def is_even(appliance):
    """Whether an appliance's energy is spread evenly over its window rather than placed as one run.

    Parameters
    ----------
    appliance : Appliance

    Returns
    -------
    bool
    """
    share = appliance.hours_per_day / appliance.window_length
    whole_day = appliance.window_length >= 24.0 - 1e-9
    return share >= constant("loads", "even_share_window") or (
        whole_day and share >= constant("loads", "even_share_whole_day")
    )


@kernel
def _fill(rows, tables, series, use, first_day, members, draw_factor, temp, out):
    """Walk the days, adding the runs of all appliances in a ring of two days, lanes innermost.

    The same draws in plain NumPy, with the equations: `darkspell.loads.reference`.

    Parameters
    ----------
    rows : array of `_ROW` [appliances]
    tables : float32 array [appliances, STEPS]
        Equally likely factors on the energy of a day of use [-].
    series : float32 array [days, 24]
        All measured days one after the other [W].
    use : float32 array [appliances, 365]
        Factor on the power by study day [-].
    first_day : int
        Calendar day (0-364) of the study year's first.
    members : uint64 array [lanes]
    draw_factor : float32 array [lanes]
        Factor on all running powers [-].
    temp : float32 array [8760, lanes]
        Air temperature [degC].
    out : float32 array [5, 8760, lanes], written
        As `load_block` returns its arrays [W].
    """
    lanes = members.size
    ring = np.zeros((len(RING), _SPAN, lanes), np.float32)
    words = np.empty((3, lanes), np.uint32)
    runs = np.empty((4, lanes), np.float32)
    for step in range(DAYS + 1):
        day = (step + DAYS - 1) % DAYS
        first = 24 * (step % 2)
        for i in range(rows.size):
            if rows[i].days > 0:
                _place_measured(
                    rows[i], series, (first_day + day) % DAYS, day, members, draw_factor, first, ring
                )
            elif use[i, day] > np.float32(0.0):
                _draw_words(rows[i].key, day, members, words)
                _set_runs(rows[i], tables[i], use[i, day], words, draw_factor, runs)
                if rows[i].driven:
                    _place_driven(rows[i], tables[i], words, runs[3], temp, day, first, ring)
                else:
                    _place_runs(rows[i], runs, first, ring)
        # Step 0 is the last day, walked only for what it carries past midnight into the first.
        if step > 0:
            _emit(ring, first, 24 * day, out)
        ring[:, first : first + 24] = np.float32(0.0)


@part
def _place_driven(row, table, words, running, temp, day, first, ring):
    """What follows the temperature: each hour of the window runs the share that its temperature asks for."""
    begin, end = row.start, row.start + row.length
    for hour in range(int(begin), min(_SPAN, int(np.ceil(end)))):
        at, clock = (first + hour) % _SPAN, (24 * day + hour) % HOURS
        inside = _within(begin, end, np.float32(hour), np.float32(hour + 1))
        for lane in range(running.size):
            factor = table[words[1, lane] >> 22] * row.hours / row.length
            air = min(max(temp[clock, lane], row.low), row.high)
            share = (air - row.none) / (row.full - row.none) * factor
            mean = min(max(share, np.float32(0.0)), np.float32(1.0)) * inside * running[lane]
            ring[row.tier, at, lane] += mean
            ring[RING.running, at, lane] += running[lane] if mean > np.float32(0.0) else np.float32(0.0)
            ring[RING.past_monitor, at, lane] += mean if row.past else np.float32(0.0)
            ring[RING.surge, at, lane] = max(
                ring[RING.surge, at, lane], row.surge if mean > np.float32(0.0) else np.float32(0.0)
            )


@part
def _place_measured(row, series, date, day, members, draw_factor, first, ring):
    """Measured hours: a year of them shifted by -2 to 2 weeks, one shift a member; else a drawn day."""
    for lane in range(members.size):
        if row.days == DAYS:
            word = philox(row.key, np.uint64(0), members[lane])[0]
            place = (date + 7 * (np.int64(word % np.uint64(5)) - 2)) % DAYS
        else:
            word = philox(row.key, np.uint64(day + 1), members[lane])[0]
            place = np.int64(word % np.uint64(row.days))
        for hour in range(24):
            mean = series[row.first + place, hour] * draw_factor[lane]
            ring[row.tier, first + hour, lane] += mean
            ring[RING.running, first + hour, lane] += mean
            ring[RING.past_monitor, first + hour, lane] += mean if row.past else np.float32(0.0)
            ring[RING.surge, first + hour, lane] = max(ring[RING.surge, first + hour, lane], row.surge - mean)


@part
def _draw_words(key, day, members, words):
    """Three random words of each lane for a day; uint32 [3, lanes], written."""
    for lane in range(members.size):
        word0, word1, word2, word3 = philox(key, np.uint64(day), members[lane])
        words[0, lane], words[1, lane], words[2, lane] = word0, word1, word2


@part
def _set_runs(row, table, use, words, draw_factor, runs):
    """Each lane's run: start and end [h after midnight], mean and running power [W], 0 if not used."""
    threshold, power, length, begin = row.threshold, row.power * use, row.length, row.start
    starts, ends, means, running = runs[0], runs[1], runs[2], runs[3]
    for lane in range(draw_factor.size):
        ends[lane] = row.hours * table[words[1, lane] >> 22]  # the top ten bits: STEPS = 1024
    for lane in range(draw_factor.size):
        used = np.float32(1.0) if np.uint64(words[0, lane]) < threshold else np.float32(0.0)
        running[lane] = power * draw_factor[lane] * used
    if row.even:
        for lane in range(draw_factor.size):
            means[lane] = running[lane] * (ends[lane] / length)
            starts[lane] = begin
            ends[lane] = begin + length
        return
    for lane in range(draw_factor.size):
        starts[lane] = begin + np.float32(words[2, lane] >> 8) * _TO_UNIT * (length - ends[lane])
        ends[lane] += starts[lane]
        means[lane] = running[lane]


@part
def _place_runs(row, runs, first, ring):
    """Add each lane's run (start, end [h], mean and running power [W]) to the ring, `first` being its day's row."""
    starts, ends = runs[0], runs[1]
    begin, end = int(row.start), min(_SPAN, int(np.ceil(row.start + row.length)))
    _add_energy(starts, ends, runs[2], begin, end, first, ring[row.tier])
    _add_running(starts, ends, runs[3], begin, end, first, ring[RING.running])
    if row.past:
        _add_energy(starts, ends, runs[2], begin, end, first, ring[RING.past_monitor])
    if row.surge > np.float32(0.0):
        _raise_surge(starts, ends, runs[3], begin, end, first, row.surge, ring[RING.surge])


# One array written a loop: with more, the compiler's checks for overlap keep it from vectorising. So do
# `min` and `max`, which mind NaN.
@part
def _add_energy(starts, ends, means, begin, end, first, energy):
    """Add mean power times the share of each hour that a run covers [W]."""
    for hour in range(begin, end):
        at, low, high = (first + hour) % _SPAN, np.float32(hour), np.float32(hour + 1)
        for lane in range(starts.size):
            share = _within(starts[lane], ends[lane], low, high)
            energy[at, lane] += (share if share > np.float32(0.0) else np.float32(0.0)) * means[lane]


@part
def _add_running(starts, ends, powers, begin, end, first, running):
    """Add the running power to each hour that a run touches [W]."""
    for hour in range(begin, end):
        at, low, high = (first + hour) % _SPAN, np.float32(hour), np.float32(hour + 1)
        for lane in range(starts.size):
            share = _within(starts[lane], ends[lane], low, high)
            running[at, lane] += powers[lane] if share > np.float32(0.0) else np.float32(0.0)


@part
def _raise_surge(starts, ends, powers, begin, end, first, own, surge):
    """Raise the largest starting surge of each hour that a run touches [W]."""
    for hour in range(begin, end):
        at, low, high = (first + hour) % _SPAN, np.float32(hour), np.float32(hour + 1)
        for lane in range(starts.size):
            share = _within(starts[lane], ends[lane], low, high)
            rise = own if share * powers[lane] > np.float32(0.0) else np.float32(0.0)
            surge[at, lane] = rise if rise > surge[at, lane] else surge[at, lane]


@inlined
def _within(start, end, low, high):
    """Length of the overlap of two spans [h]; negative where they are apart."""
    return (end if end < high else high) - (start if start > low else low)


@part
def _emit(ring, first, hour, out):
    """Write a finished day of the ring out."""
    for h in range(24):
        for lane in range(out.shape[2]):
            out[0, hour + h, lane] = ring[RING.essential, first + h, lane]
            out[1, hour + h, lane] = ring[RING.deferrable, first + h, lane]
            out[2, hour + h, lane] = ring[RING.running, first + h, lane] + ring[RING.surge, first + h, lane]
            out[3, hour + h, lane] = ring[RING.past_monitor, first + h, lane]
            out[4, hour + h, lane] = ring[RING.uninterruptible, first + h, lane]
