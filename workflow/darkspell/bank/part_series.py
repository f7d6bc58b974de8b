"""Input series of a part of the loads that is switched off before the rest: from a study's arrays to the step.

As in `darkspell.bank.part_cutoff`, what is compiled follows from the type of the extras: no series, the four of
`PartShares`, or with both parts also the five of `CriticalShares`.
"""

from numba.extending import overload

from darkspell.bank.part_cutoff import has_both, has_part
from darkspell.bank.rows import MEMBER
from darkspell.core.batches import LANES
from darkspell.core.jit import INLINED, copy_floats

DRAWS = 9  # place of what the members' banks are among the input series
SERIES, SHARES, MORE = (
    10,
    4,
    5,
)  # input series of all studies; those of `PartShares` and `CriticalShares` follow them


def series_count(controls):
    """How many input series the bank's drivers take: `SERIES`, and more where a part may be switched off.

    Parameters
    ----------
    controls : darkspell.bank.step_values.Controls

    Returns
    -------
    int
    """
    extras = controls.extras
    if extras is None or extras.inverter_cut_off is None:
        return SERIES
    return SERIES + SHARES + (0 if extras.both is None else MORE)


def read_shares(extras, traces, hour, w):
    """Copy the shares of an hour of the input series to the members' rows.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    traces : tuple of float32 arrays [8760, LANES]
    hour : int
    w : float32 array [rows x LANES], written
    """
    raise NotImplementedError("compiled code only")


def own_columns(extras, columns):
    """Columns of one member's own hours.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    columns : int
        Without any share.

    Returns
    -------
    int
        `columns`, and four or nine more where a part may be switched off.
    """
    raise NotImplementedError("compiled code only")


def gather_shares(extras, traces, hour, member, own, first):
    """Copy one member's shares of an hour to its own hours.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    traces : tuple of float32 arrays [8760, LANES]
    hour, member : int
        Hour of the year, and column of the block.
    own : float32 array [hours, columns], written
    first : int
        Column of the first share.
    """
    raise NotImplementedError("compiled code only")


def own_shares(extras, own, hour, first):
    """Shares of an hour of one member's own hours.

    Parameters
    ----------
    extras : darkspell.bank.optional_features.Extras or None
    own : float32 array [hours, columns]
        As `gather_shares` wrote it.
    hour, first : int
        Hour, and column of the first share.

    Returns
    -------
    tuple of float32, or None
        `darkspell.bank.part_cutoff.PartShares`, with both followed by ``CriticalShares``; None without a part.
    """
    raise NotImplementedError("compiled code only")


@overload(read_shares, jit_options=INLINED)
def _read_shares(extras, traces, hour, w):
    if not has_part(extras):
        return lambda extras, traces, hour, w: None

    def read(extras, traces, hour, w):
        for row in range(SHARES):
            copy_floats(traces[SERIES + row], hour * LANES, w, MEMBER.essential_share + row * LANES, LANES)

    def read_more(extras, traces, hour, w):
        for row in range(SHARES + MORE):
            copy_floats(traces[SERIES + row], hour * LANES, w, MEMBER.essential_share + row * LANES, LANES)

    return read_more if has_both(extras) else read


@overload(own_columns, jit_options=INLINED)
def _own_columns(extras, columns):
    if not has_part(extras):
        return lambda extras, columns: columns
    more = SHARES + MORE if has_both(extras) else SHARES
    return lambda extras, columns: columns + more


@overload(gather_shares, jit_options=INLINED)
def _gather_shares(extras, traces, hour, member, own, first):
    if not has_part(extras):
        return lambda extras, traces, hour, member, own, first: None

    def gather(extras, traces, hour, member, own, first):
        own[hour, first] = traces[SERIES][hour, member]
        own[hour, first + 1] = traces[SERIES + 1][hour, member]
        own[hour, first + 2] = traces[SERIES + 2][hour, member]
        own[hour, first + 3] = traces[SERIES + 3][hour, member]

    def gather_more(extras, traces, hour, member, own, first):
        for row in range(SHARES + MORE):
            own[hour, first + row] = traces[SERIES + row][hour, member]

    return gather_more if has_both(extras) else gather


@overload(own_shares, jit_options=INLINED)
def _own_shares(extras, own, hour, first):
    if not has_part(extras):
        return lambda extras, own, hour, first: None
    if has_both(extras):
        return lambda extras, own, hour, first: (
            own[hour, first], own[hour, first + 1], own[hour, first + 2], own[hour, first + 3],
            own[hour, first + 4], own[hour, first + 5], own[hour, first + 6], own[hour, first + 7],
            own[hour, first + 8],
        )  # fmt: skip
    return lambda extras, own, hour, first: (
        own[hour, first], own[hour, first + 1], own[hour, first + 2], own[hour, first + 3],
    )  # fmt: skip
