"""Powers and a bent curve as the bank's hour needs them: short polynomials, since the library's stay scalar."""

import numpy as np
from numba.extending import overload

from darkspell.core.jit import INLINED, fma, shared_inlined

ONE, TWO = np.float32(1.0), np.float32(2.0)
# 2**x: on [0, 1) for all x, within 5e-6; and 2**-x near zero, exact there.
E0, E1, E2 = np.float32(1.0000036), np.float32(0.69296953), np.float32(0.24162132)
E3, E4 = np.float32(0.051717735), np.float32(0.013683983)
D1, D2, D3, D4 = (np.float32(x) for x in (-0.69353355, 0.24190551, -0.05560798, 0.00734347))
BEND = np.float32(0.34655)  # log2(m) = (m - 1) + BEND (m - 1) (2 - m) within 0.008, exact at 1 and 2
OCTAVE = np.float32(2.0**-23)  # of a float32's bits
MANTISSA, UNIT_BITS = np.int32(0x7FFFFF), np.int32(0x3F800000)
SHIFT, BIAS = np.int32(23), np.int32(127)


@shared_inlined
def two_to(x):
    """Approximate ``2 ** x`` in vector code, relative error below 1e-5.

    Parameters
    ----------
    x : float32

    Returns
    -------
    float32
    """
    whole = np.floor(x)
    f = x - whole
    scale_bits = np.int32((np.int32(whole) + BIAS) << SHIFT)
    return fma(f, fma(f, fma(f, fma(f, E4, E3), E2), E1), E0) * np.int32(scale_bits).view(np.float32)


@shared_inlined
def rate_share(rate, exponent):
    """Approximate ``rate ** -exponent``, within 0.17 % and exact at 1.

    The logarithm is read from the bits of the number, with a parabola within each octave.

    Parameters
    ----------
    rate : float32
        0.2 to 30 [-].
    exponent : float32
        Up to 0.25 [-].

    Returns
    -------
    float32
    """
    bits = np.float32(rate).view(np.int32)
    straight = np.float32(np.int32(bits - UNIT_BITS)) * OCTAVE
    m = np.int32((bits & MANTISSA) | UNIT_BITS).view(np.float32)
    y = exponent * fma(BEND, (m - ONE) * (TWO - m), straight)
    square = y * y
    return fma(square, fma(square, D4, fma(y, D3, D2)), fma(y, D1, ONE))


def hinges(soc, start, knots, slopes):
    """Piecewise-linear curve, ``start + sum(slopes * max(soc, (0, *knots)))``; its slope changes at the knots.

    Parameters
    ----------
    soc : float32
        State of charge [-].
    start : float32
    knots : tuple of float32
    slopes : tuple of float32
        One more than knots.

    Returns
    -------
    float32
        In the unit of `start`.
    """
    raise NotImplementedError("compiled code only")


@overload(hinges, jit_options=INLINED)
def _hinges(soc, start, knots, slopes):
    """Four or eight segments, by the number of knots: a table without bends costs less."""
    if len(knots) == 3:

        def four(soc, start, knots, slopes):
            first = fma(max(soc, knots[0]), slopes[1], fma(soc, slopes[0], start))
            return first + fma(max(soc, knots[1]), slopes[2], max(soc, knots[2]) * slopes[3])

        return four

    def eight(soc, start, knots, slopes):
        first = fma(max(soc, knots[0]), slopes[1], fma(soc, slopes[0], start))
        second = fma(max(soc, knots[1]), slopes[2], max(soc, knots[2]) * slopes[3])
        third = fma(max(soc, knots[3]), slopes[4], max(soc, knots[4]) * slopes[5])
        last = fma(max(soc, knots[5]), slopes[6], max(soc, knots[6]) * slopes[7])
        return (first + second) + (third + last)

    return eight
