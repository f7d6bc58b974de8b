"""Feedback from a monitor's reading to the loads: repeat the year until nothing changes any more.

A reading depends on what came before it alone. Each pass therefore settles every step up to the first whose
answer it changed, and that step: the result is the one of a walk step by step.
"""


def iterate_until_settled(respond, state, passes):
    """Repeat ``state, output = respond(state)`` until the state no longer changes.

    Parameters
    ----------
    respond : callable
        From a state (bool array) to the state that follows from it, and what was computed on the way.
    state : bool array [steps, lanes]
        To begin with.
    passes : int
        Most repetitions.

    Returns
    -------
    state : bool array [steps, lanes]
    output : object
        Of the last pass.
    unsettled : bool array [steps, lanes]
        What the last pass still changed; false everywhere where the iteration settled.
    """
    for _ in range(passes):
        after, output = respond(state)
        unsettled = after != state
        state = after
        if not unsettled.any():
            break
    return state, output, unsettled
