"""Random numbers keyed by seed, stream and member: the same bits in any order and on any number of threads.

The generator is Philox4x32-10 (Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", SC'11,
doi:10.1145/2063384.2063405): a counter-based function, so a draw needs no state and no history.
The key is a hash of seed and stream name; the counter holds the draw's index and the member.
"""

from functools import cache
from hashlib import blake2b

import numpy as np
from numba import njit

from darkspell.core.jit import kernel, part, shared_part

_M0, _M1 = np.uint64(0xD2511F53), np.uint64(0xCD9E8D57)
_W0, _W1 = np.uint64(0x9E3779B9), np.uint64(0xBB67AE85)
_MASK, _SHIFT = np.uint64(0xFFFFFFFF), np.uint64(32)
_M0S, _M1S, _W0S, _W1S = (np.uint32(word) for word in (_M0, _M1, _W0, _W1))
_TOP, _REST = (
    np.uint32(20),
    np.uint32(0xFFFFF),
)  # a word's place in the table of normals, and its share of a step
_TO_UNIT = 2.0**-32
_TWO_PI = 2.0 * np.pi


def stream_key(seed, stream):
    """Key of one random stream.

    Parameters
    ----------
    seed : int
        The study's seed; any integer, zero included.
    stream : str
        ``room/name``, such as ``sky/daily`` or ``loads/fridge``.

    Returns
    -------
    numpy.uint64
        Key for `uniforms`, `normals` and `philox`.
    """
    digest = blake2b(f"{int(seed)}|{stream}".encode(), digest_size=8).digest()
    return np.uint64(int.from_bytes(digest, "little"))


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _rounds(key, index, member, count):
    k0, k1 = key & _MASK, key >> _SHIFT
    c0, c1 = np.uint64(index) & _MASK, np.uint64(index) >> _SHIFT
    c2, c3 = np.uint64(member) & _MASK, np.uint64(member) >> _SHIFT
    for _ in range(count):
        p0, p1 = _M0 * c0, _M1 * c2
        c0, c1, c2, c3 = (p1 >> _SHIFT) ^ c1 ^ k0, p1 & _MASK, (p0 >> _SHIFT) ^ c3 ^ k1, p0 & _MASK
        k0, k1 = (k0 + _W0) & _MASK, (k1 + _W1) & _MASK
    return c0, c1, c2, c3


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def philox(key, index, member):
    """Four independent random words for one key, draw index and member.

    Parameters
    ----------
    key : numpy.uint64
        See `stream_key`.
    index : int
        Number of the draw.
    member : int

    Returns
    -------
    tuple of uint64
        Four words of 32 bits.
    """
    return _rounds(key, index, member, 10)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def short_philox(key, index, member):
    """As `philox` in seven rounds, the fewest that passed its authors' tests; for noise by the minute.

    Parameters
    ----------
    key : numpy.uint64
    index : int
    member : int

    Returns
    -------
    tuple of uint64
        Four words of 32 bits.
    """
    return _rounds(key, index, member, 7)


@shared_part
def philox_lanes(key, index, members, words):
    """As `philox`, of many members at once, round by round, which fills whole registers.

    Parameters
    ----------
    key : numpy.uint64
    index : int
    members : int array [lanes]
    words : uint32 array [4, lanes], written
    """
    k0, k1 = np.uint32(key & _MASK), np.uint32(key >> _SHIFT)
    for lane in range(members.size):
        words[0, lane], words[1, lane] = np.uint32(index), np.uint32(np.uint64(index) >> _SHIFT)
        member = np.uint64(members[lane])
        words[2, lane], words[3, lane] = np.uint32(member & _MASK), np.uint32(member >> _SHIFT)
    _ten_rounds(k0, k1, words)


@part
def _ten_rounds(k0, k1, words):
    """Turn counters into random words, column by column."""
    for _ in range(10):
        for lane in range(words.shape[1]):
            p0 = np.uint64(_M0S) * np.uint64(words[0, lane])
            p1 = np.uint64(_M1S) * np.uint64(words[2, lane])
            words[0, lane] = np.uint32(p1 >> _SHIFT) ^ words[1, lane] ^ k0
            words[2, lane] = np.uint32(p0 >> _SHIFT) ^ words[3, lane] ^ k1
            words[1, lane], words[3, lane] = np.uint32(p1), np.uint32(p0)
        k0, k1 = np.uint32(k0 + _W0S), np.uint32(k1 + _W1S)


@kernel
def uniforms(key, member, count):
    """Uniform random numbers of one member, between 0 and 1, both excluded.

    Parameters
    ----------
    key : numpy.uint64
    member : int
    count : int

    Returns
    -------
    float64 array [count]
    """
    out = np.empty(count)
    for block in range((count + 3) // 4):
        words = philox(key, block, member)
        for i in range(min(4, count - 4 * block)):
            out[4 * block + i] = (float(words[i]) + 0.5) * _TO_UNIT
    return out


@kernel
def normals(key, member, count):
    """Standard normal random numbers of one member (Box & Muller), rounded to 2**-20.

    The rounding makes the bits independent of the last digit of a platform's logarithm and cosine.

    Parameters
    ----------
    key : numpy.uint64
    member : int
    count : int

    Returns
    -------
    float64 array [count]
    """
    out = np.empty(count)
    for block in range((count + 3) // 4):
        w0, w1, w2, w3 = philox(key, block, member)
        _pair(out, 4 * block, w0, w1)
        _pair(out, 4 * block + 2, w2, w3)
    return out


@kernel
def normals_of_members(key, members, count):
    """Standard normal random numbers of several members, as `normals`.

    Parameters
    ----------
    key : numpy.uint64
    members : int array [members]
    count : int

    Returns
    -------
    float64 array [members, count]
    """
    out = np.empty((members.size, count))
    for place in range(members.size):
        drawn = normals(key, members[place], count)
        for at in range(count):  # an assignment of whole arrays would bring its error texts along
            out[place, at] = drawn[at]
    return out


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def _pair(out, at, w0, w1):
    radius = np.sqrt(-2.0 * np.log((float(w0) + 0.5) * _TO_UNIT))
    angle = _TWO_PI * (float(w1) + 0.5) * _TO_UNIT
    if at < out.size:
        out[at] = np.round(radius * np.cos(angle) * 1048576.0) / 1048576.0
    if at + 1 < out.size:
        out[at + 1] = np.round(radius * np.sin(angle) * 1048576.0) / 1048576.0


@cache
def normal_table():
    """Quantiles of the standard normal at multiples of 1/4096, for `quick_normals`; float64 [4097], never written to.

    The two ends are at half the first and last step; values are rounded to 1e-6.
    """
    from scipy.special import ndtri

    probability = np.arange(4097) / 4096.0
    probability[[0, -1]] = 0.5 / 4096.0, 1.0 - 0.5 / 4096.0
    return np.round(ndtri(probability), 6)


@shared_part
def quick_normals(key, index, member, table, out):
    """Fill `out` with near-normal numbers, by linear interpolation in a table; tails end at 3.7.

    For noise whose far tail decides nothing: five times as fast as `normals`.

    Parameters
    ----------
    key : numpy.uint64
    index : int
        First draw index; ``ceil(out.size / 4)`` indices are used.
    member : int
    table : float64 array [4097]
        From `normal_table`.
    out : float64 array, written
    """
    words, whole = np.empty((4, (out.size + 3) // 4), np.uint32), np.uint64(member)
    for block in range(words.shape[1]):
        at = np.uint64(index + block)
        words[0, block], words[1, block] = np.uint32(at & _MASK), np.uint32(at >> _SHIFT)
        words[2, block], words[3, block] = np.uint32(whole & _MASK), np.uint32(whole >> _SHIFT)
    _ten_rounds(np.uint32(key & _MASK), np.uint32(key >> _SHIFT), words)
    for place in range(out.size):
        word = words[place & 3, place >> 2]
        at, share = np.int64(word >> _TOP), float(word & _REST) * (1.0 / 1048576.0)
        out[place] = table[at] + share * (table[at + 1] - table[at])
