#!/usr/bin/python3
"""markers.py - truth from the body markers of the recorded treadmill runs (..._markers.csv, 150 Hz).

Knows nothing of the force's COP except where a function is handed one. Used to check the reference and
the program: which foot is on the belt, where the pelvis is, where on the foot a runner lands.

What the markers allow, and how:
- Foot on the belt: at mid-contact the stance foot's lowest marker is 100 mm or more below the other
  foot's; at touchdown the landing foot is the forward one. Two rules, from heights and from forward
  places, so that they check each other (truth_sides says where they disagree).
- Foot strikes: every stride has one foremost point of the foot, shortly before touchdown. Counting
  these peaks counts the steps without any force (foot_strikes).
- Fore-aft body: the centre of four pelvis markers. It stands in for the mass centre; there are no
  trunk markers. Short glitches (a marker lost for some frames) are mended by a median (clean).
- Along the foot: heel marker and metatarsals, read while the foot is flat, carried to touchdown with
  the belt (foot_at). The heel marker's centre sits HEEL_MARKER_MM behind the shoe's heel edge.
- Known faults of the set: a metatarsal is missing in some runs; in RBDS001_T25 and RBDS03_T25 two of
  the right foot's markers carry each other's names. Heights use the lowest of whatever is there, which
  swapped names do not change; the heel is the rearmost marker of the flat foot, for the same reason.
"""
import math
import os

import numpy as np
from scipy.ndimage import median_filter
from scipy.signal import butter, find_peaks, sosfiltfilt

import reference_steps as ref

HEEL_MARKER_MM = 10.0  # marker radius (7-8 mm) and its base, at the back of the shoe
MARKER_HZ = 150.0


def clean(x):
    """Mends short glitches: samples far off a 0.2 s running median are interpolated over."""
    x = np.array(x, dtype=float)
    n = np.arange(len(x))
    ok = np.isfinite(x)
    if not ok.any():
        return x
    x = np.interp(n, n[ok], x[ok])
    off = np.abs(x - median_filter(x, 31)) > 40.0
    off = np.convolve(off, np.ones(9), "same") > 0
    return np.interp(n, n[~off], x[~off]) if (~off).sum() > 10 else x


def load(path):
    """Marker table, or None where the file is absent. Foot markers are not mended: they move fast."""
    if not os.path.exists(path):
        return None
    m = ref.read_csv(path)
    for name in ("pelvis_fwd", "pelvis_up", "pelvis_right"):
        if name in m:
            m[name] = clean(m[name])
    return m


def at(m, name, t):
    ok = np.isfinite(m[name])
    return np.interp(t, m["t"][ok], m[name][ok])


def names(m, foot, axis):
    return [f"{foot}_{p}_{axis}" for p in ("heel", "mt1", "mt5")
            if f"{foot}_{p}_{axis}" in m and np.isfinite(m[f"{foot}_{p}_{axis}"]).mean() > 0.9]


def lowest(m, foot, t):
    return min(float(at(m, n, t)) for n in names(m, foot, "up"))


def foremost(m, foot, t):
    return float(np.mean([at(m, n, t) for n in names(m, foot, "fwd")]))


def truth_sides(m, touchdown_s, toeoff_s):
    """(sides by height at mid-contact, sides by forward place at touchdown)."""
    by_height, by_place = [], []
    for a, b in zip(touchdown_s, toeoff_s):
        mid = a + 0.45 * (b - a)
        by_height.append("L" if lowest(m, "L", mid) < lowest(m, "R", mid) else "R")
        by_place.append("L" if foremost(m, "L", a) > foremost(m, "R", a) else "R")
    return by_height, by_place


def foot_strikes(m):
    """Times of each foot's foremost points, as two arrays: the foot strikes, seen without force."""
    out = {}
    for foot in "LR":
        x = np.mean([m[n] for n in names(m, foot, "fwd")], axis=0)
        ok = np.isfinite(x)
        x = np.interp(np.arange(len(x)), np.flatnonzero(ok), x[ok])
        x = sosfiltfilt(butter(2, 8.0, fs=MARKER_HZ, output="sos"), x)
        peaks, _ = find_peaks(x, distance=int(0.4 * MARKER_HZ), prominence=0.3 * np.ptp(x))
        out[foot] = m["t"][peaks]
    return out


def match_strikes(m, touchdown_s, sides):
    """How touchdowns and foot strikes pair up, one to one: (paired, touchdowns alone, strikes alone).

    The foremost point comes 0 to 160 ms before touchdown. Strikes after the last touchdown or before
    the first one are not counted: the force may not hold their contact whole.
    """
    strikes = foot_strikes(m)
    paired, used = 0, {"L": set(), "R": set()}
    lone_downs = 0
    for t, foot in zip(touchdown_s, sides):
        near = [i for i, s in enumerate(strikes[foot]) if -0.02 <= t - s <= 0.16 and i not in used[foot]]
        if len(near) == 1:
            used[foot].add(near[0])
            paired += 1
        elif t - 0.16 < m["t"][0]:
            paired += 1  # its foremost point was before the recording began
        else:
            lone_downs += 1
    first, last = touchdown_s[0], touchdown_s[-1]
    lone_strikes = sum(1 for foot in "LR" for i, s in enumerate(strikes[foot])
                       if i not in used[foot] and first - 0.02 <= s <= last - 0.10)
    return paired, lone_downs, lone_strikes


def pelvis_fwd(m, t):
    return at(m, "pelvis_fwd", t)


def pelvis_travel(m, touchdown_s):
    """Vertical pelvis travel (mm) of each step, over the stride that it begins; NAN at the end."""
    out = []
    for k in range(len(touchdown_s)):
        if k + 1 >= len(touchdown_s):
            out.append(math.nan)
            continue
        w = (m["t"] >= touchdown_s[k]) & (m["t"] <= touchdown_s[k + 1])
        out.append(float(np.ptp(m["pelvis_up"][w])))
    return np.array(out)


def pelvis_drop(m, a, b):
    """Pelvis height at touchdown less its lowest in the contact, mm."""
    w = (m["t"] >= a) & (m["t"] <= b)
    return float(at(m, "pelvis_up", a) - m["pelvis_up"][w].min())


def foot_at(m, foot, a, b, speed_m_s):
    """(heel edge, foremost metatarsal) of the landed foot in lab coordinates of the touchdown instant:
    read where the foot is flat (all its markers lowest together, 15-60 % of contact), then carried
    forward by what the belt has moved since touchdown."""
    w = np.flatnonzero((m["t"] >= a + 0.15 * (b - a)) & (m["t"] <= a + 0.60 * (b - a)))
    height = np.sum([m[n][w] for n in names(m, foot, "up")], axis=0)
    if not len(w) or not np.isfinite(height).any():
        return math.nan, math.nan
    k = w[np.nanargmin(height)]
    carry = speed_m_s * 1e3 * (m["t"][k] - a)
    x = [m[n][k] for n in names(m, foot, "fwd")]
    return min(x) + HEEL_MARKER_MM + carry, max(x) + carry


def strike_index(m, foot, a, b, speed_m_s, cop_down_mm, foot_mm):
    """Place of a landing COP along the foot, % of its length from the heel, by the markers."""
    heel, _ = foot_at(m, foot, a, b, speed_m_s)
    return 100.0 * (cop_down_mm - heel) / foot_mm


def foot_length_mm(size_us_men):
    """Men's US size to foot length, by the foot-measuring device's rule: size = 3 x inches - 22."""
    return (size_us_men + 22.0) / 3.0 * 25.4

