"""The sizing driver once more in C, compiled on the spot where a compiler is there: a yardstick.

The same hour in the same parts as `darkspell.bank.step`, without extras, over one member and blocks of 64 designs;
it goes the whole way in calm hours too. It must give the same bits, or its time says nothing; it is a plain
translation that nobody tuned, no proven limit.
"""

import ctypes
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from darkspell.bank import run_years as drive
from darkspell.bank.step import temperature_terms
from darkspell.core.batches import LANES
from darkspell.core.calendar import HOURS

FLAGS = (
    "-O3", "-march=native", "-ffp-contract=off", "-fno-math-errno", "-fno-trapping-math", "-fno-signed-zeros",
    "-ffinite-math-only", "-shared", "-fPIC",
)  # fmt: skip
SOURCE = r"""
#include <math.h>
#include <stdint.h>
#include <string.h>
#define N 64
#define EACH for (int i = 0; i < N; i++)
#define MAX(a, b) ((a) > (b) ? (a) : (b))
#define MIN(a, b) ((a) < (b) ? (a) : (b))
typedef float row[N];
enum { OCV0, TAPER, FLOOR, CUT, PER_CUT, RECONNECT, LOW, KNEE, FALL, FALL_RATE, SHARE, PER_RATE, POWER, SHED, RESUME,
       LOSS, NIGHT, FULL, KNOTS };
static inline float share_at(float rate, float p) {
    int32_t bits, m; float f;
    memcpy(&bits, &rate, 4);
    float straight = (float)(bits - 0x3F800000) * 1.1920928955078125e-07f;
    m = (bits & 0x7FFFFF) | 0x3F800000;
    memcpy(&f, &m, 4);
    float y = p * fmaf(0.34655f, (f - 1.0f) * (2.0f - f), straight);
    float s = y * y;
    return fmaf(s, fmaf(s, 0.00734347f, fmaf(y, -0.05560798f, 0.24190551f)), fmaf(y, -0.69353355f, 1.0f));
}
static inline float efficiency(float soc, float charge, const float *c) {
    float e = MAX(soc - c[KNEE], 0.0f);
    return fmaf(-(e * e), fmaf(c[FALL_RATE], charge, c[FALL]), c[LOW]);
}
void run(const float *restrict own, int hours, int warm_up, int inner, const float *restrict k,
         const float *restrict c_, float *restrict out) {
    float c[40];  /* a copy of its own: nothing can overlap */
    for (int i = 0; i < KNOTS + 2 * inner + 1; i++) c[i] = c_[i];
    static _Thread_local row soc, on, free_, ocv, inv, hold, acc, slope, off, rest, kept, flo, net, mis, late, lost,
        ne, nd, night, first, nights, essential, all, since, longest;
    const float *mp = k, *pw = k + N, *lim = k + 2 * N, *ah = k + 3 * N, *sta = k + 4 * N, *cab = k + 5 * N;
    const float *kn = c + KNOTS, *sl = kn + inner;
    EACH { soc[i] = on[i] = free_[i] = 1; night[i] = first[i] = nights[i] = lost[i] = essential[i] = all[i] = 0;
           since[i] = longest[i] = 0; }
    for (int count = 0; count < warm_up + hours; count++) {
        int hour = count < warm_up ? hours - warm_up + count : count - warm_up;
        const float *h = own + hour * 15, *t = h + 8;
        if (count == warm_up) EACH {
            night[i] = first[i] = nights[i] = lost[i] = essential[i] = all[i] = since[i] = longest[i] = 0;
        }
        if (hour % 24 == 12 && count > warm_up) EACH {
            float flag = MIN(night[i], 1.0f);
            if (hour == 12) first[i] = flag; else nights[i] += flag;
            night[i] = 0;
        }
        int lit = h[0] + h[2] != 0.0f;
#define AT(j) MAX(soc[i], kn[j])
        if (inner == 3) EACH
            ocv[i] = fmaf(AT(0), sl[1], fmaf(soc[i], sl[0], c[OCV0])) + fmaf(AT(1), sl[2], AT(2) * sl[3]);
        else EACH
            ocv[i] = (fmaf(AT(0), sl[1], fmaf(soc[i], sl[0], c[OCV0])) + fmaf(AT(1), sl[2], AT(2) * sl[3])) +
                     (fmaf(AT(3), sl[4], AT(4) * sl[5]) + fmaf(AT(5), sl[6], AT(6) * sl[7]));
        EACH {
            float o = ocv[i];
            inv[i] = 1.0f / o;
            hold[i] = MAX(t[0], o);
            float gap = t[2] > 0 ? 1.0f - soc[i] : 0.0f, missing = t[6] * gap;
            acc[i] = MIN(t[2], missing);
            slope[i] = (hold[i] - o) * t[5] / MAX(gap, 1e-9f);
            hold[i] = t[2] < missing ? fmaf(acc[i], slope[i], o) : hold[i];
        }
        if (lit) EACH {
            float a = ah[i], other = h[2] * a, always = h[5] * a, source = h[1] * pw[i] + lim[i];
            float guess = MAX(fmaf(other - (h[3] * a + h[4] * a + always), inv[i], source), 0.0f);
            float array = MIN(h[0] * mp[i], source * (ocv[i] + MIN(guess * slope[i], hold[i] - ocv[i])));
            off[i] = array + other;
            rest[i] = MAX(off[i] - always, 0.0f);
            kept[i] = always - MIN(off[i], always);
        } else EACH { off[i] = rest[i] = 0; kept[i] = h[5] * ah[i]; }
        EACH {
            float a = ah[i], es = h[3] * a, de = h[4] * a, asked = es + de;
            float rate = MAX(MAX(asked - rest[i], 0.0f) * inv[i] * c[PER_RATE], 0.05f);
            flo[i] = MAX(c[FLOOR], fmaf(-t[3], MIN(c[SHARE] * share_at(rate, c[POWER]), 1.0f), 1.0f));
            float sag = MAX(h[7] * a - off[i], 0.0f) * ((t[1] + cab[i]) * c[PER_CUT]);
            int f = ((on[i] > 0) | (soc[i] >= c[RECONNECT])) & (ocv[i] - c[CUT] >= sag) & (soc[i] >= flo[i]);
            free_[i] = MAX(free_[i] * (float)(soc[i] >= c[SHED]), (float)(soc[i] > c[RESUME]));
            float eo = f ? es : 0.0f, dd = f ? free_[i] * de : 0.0f, wanted = eo + dd;
            float me = es - eo, md = de - dd, excess = rest[i] - wanted;
            float extra = MIN(MAX(excess - acc[i] * hold[i], 0.0f), asked - wanted), xe = MIN(extra, me);
            mis[i] = me - xe; late[i] = MAX(md - (extra - xe), 0.0f);
            net[i] = excess - extra; on[i] = (float)f;
        }
        EACH {
            float a = ah[i], n = net[i], r = t[1] + cab[i], s = n > 0 ? slope[i] : r;
            float root = fmaf(4.0f * n, s, ocv[i] * ocv[i]), amps = (n + n) / (ocv[i] + sqrtf(MAX(root, 0.0f)));
            float charge = MIN(MAX(amps, 0.0f), acc[i]), avail = MAX(soc[i] - flo[i], 0.0f), out_ = MAX(-amps, 0.0f);
            int ran = (out_ > avail) | (root < 0);
            float dis = MIN(out_, avail), v = fmaf(-r, dis, ocv[i]);
            float sh = ran ? MAX(fmaf(-dis, v, -n), 0.0f) : 0.0f, sd = MIN(sh, h[4] * a - late[i]);
            float asked = (sta[i] + kept[i]) * inv[i], room = soc[i] - dis, idle = MIN(asked, room);
            float sa = MIN((asked - idle) * ocv[i], MAX(kept[i] - h[6] * a, 0.0f));
            ne[i] = mis[i] + ((sh - sd) + sa); nd[i] = late[i] + sd;
            on[i] = on[i] * (1.0f - (float)ran);
            float left = fmaf(efficiency(fmaf(0.5f, charge, soc[i]), charge, c), charge, room - idle);
            soc[i] = MIN(MAX(fmaf(-t[4], left, left), 0.0f), 1.0f);
        }
        EACH {
            lost[i] += (float)(ne[i] > c[LOSS] * ah[i]);
            night[i] += (float)(ne[i] > c[NIGHT] * ah[i]);
            essential[i] += ne[i];
            all[i] += ne[i] + nd[i];
            since[i] = (since[i] + 1.0f) * (float)(soc[i] < c[FULL]);
            longest[i] += MAX(since[i] - longest[i], 0.0f);
        }
    }
    EACH {
        out[i] = lost[i]; out[N + i] = nights[i] + MIN(night[i] + first[i], 1.0f);
        out[2 * N + i] = essential[i]; out[3 * N + i] = all[i]; out[4 * N + i] = longest[i];
    }
}
"""


def c_kernel(traces, member, scales, controls, c, floors):
    """A function that runs the C kernel once and gives its totals, or None where no compiler is there.

    Parameters
    ----------
    traces, member, scales, controls, c, floors
        As `darkspell.bank.run_designs.run_designs` takes them; no extras.

    Returns
    -------
    callable or None
        Returns float32 [5, designs]: the first four of `designs.TOTALS` and the last.
    """
    compiler = shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
    if compiler is None:
        return None
    with TemporaryDirectory() as folder:
        source, library = Path(folder) / "limit.c", Path(folder) / "limit.so"
        source.write_text(SOURCE, encoding="utf-8")
        for wide in (("-mprefer-vector-width=512",), ()):  # a flag that not every machine's compiler knows
            command = [compiler, *FLAGS, *wide, str(source), "-o", str(library), "-lm"]
            if not subprocess.run(command, capture_output=True).returncode:
                break
        else:
            return None
        run = ctypes.CDLL(str(library)).run
    own, numbers = _own(traces, member, c), _numbers(controls, c, floors)
    blocks = np.ascontiguousarray(np.split(scales, scales.shape[1] // LANES, axis=1), np.float32)
    out = np.empty((len(blocks), 5, LANES), np.float32)

    def place(array):
        return array.ctypes.data_as(ctypes.POINTER(ctypes.c_float))

    def call():
        for block, total in zip(blocks, out, strict=True):
            run(place(own), HOURS, drive.WARM_UP, len(c.ocv_knot), place(block), place(numbers), place(total))
        return np.concatenate(out, axis=1)

    return call


def _own(traces, member, c):
    """The member's hours as the driver gathers them; float32 [8760, 13]."""
    mpp, pwm, temp, *loads = (array[:, member] for array in traces[:9])
    essential, deferrable, peak, aux, always, heat = loads
    terms = [temperature_terms(t, c)[:7] for t in temp]  # a bank as its table has it
    rows = (mpp, pwm, aux, essential, deferrable, always, heat, peak, *np.array(terms, np.float32).T)
    return np.ascontiguousarray(np.stack(rows, axis=1), np.float32)


def _numbers(controls, c, floors):
    """What the kernel takes of chemistry, thresholds and floors, in the order of its enumeration."""
    values = (
        c.ocv_0, c.accept_taper, c.floor, c.cut_off, c.per_cut_off, c.reconnect, c.efficiency_low, c.efficiency_knee,
        c.efficiency_fall, c.efficiency_fall_rate, c.peukert_share, c.per_peukert_rate, c.peukert_power,
        controls.shed, controls.resume, *floors, *c.ocv_knot, *c.ocv_slope,
    )  # fmt: skip
    return np.array(values, np.float32)
