#!/usr/bin/python3
"""reference_steps.py - an offline reference: a CSV force trace to a step table, by NumPy and SciPy.

Written from the definitions in the design and in the literature, without a look at the C engine, so
that the two can check each other. It may look at the whole trace at once (zero-lag filters, medians
over the run); the engine may not.

    reference_steps.py TRACE.csv [--rate 300] [--mass 71.2] [--speed 2.5] [--foot 265] [--leg 900]
                       [--threshold 50] [--summary]

In: columns fz (N), copx, copy (mm), t (s), as `underfoot steps` takes them. Out: the same step table.

Definitions, where more than one is in use:
- Baseline: median force of the inner part of each flight, median of five flights, linear between.
- Contact: the 50 Hz filtered force decides THAT there is one (threshold with hysteresis, confirmed at
  four thresholds); the RAW force less its baseline is what is TIMED, at the threshold, interpolated
  between samples. Where belt vibration crosses the threshold several times at one edge, the edge lies
  where the time above the threshold is the same (see edge_up): the middle between first and last
  crossing, so to say. Crossings more than 10 ms off the edge are lone spikes and do not count.
- Row: a contact whose touchdown and toe-off both lie inside the trace.
- Body weight for the BW columns: mass x 9.81, else mean force over whole strides (momentum balance;
  Cavagna 1975, J Appl Physiol 39:174).
- Filter for peak and loading: Butterworth, order 2 run forth and back = 4th order, zero lag, 50 Hz
  (common practice on force treadmills).
- Impact transient: a local maximum of the filtered force in the first 30 % of contact (at most 75 ms),
  below the active peak, followed by a dip of at least TRANSIENT_DIP_BW.
- Loading rate: mean slope from 20 to 80 % of the transient's force (by force, the first crossings), the
  maximum is the steepest slope between neighbouring samples in that window (Milner et al. 2006);
  without a transient, of the force at 13 % of contact (Willy et al. 2008).
- COM: acceleration g (F / mean F - 1), the mean taken over a whole stride, twice integrated, with zero
  mean velocity over the stride (Cavagna 1975). com_drop_mm is from touchdown down to the lowest point,
  com_low_ms the lowest point's time after touchdown; the mean of the two strides that hold the step.
- COP at touchdown: force-weighted mean of the COP in the belt's frame over the first 25 ms (see
  landing_cop: a single early sample of a plate's COP is worth nothing).
- Landing ahead: force-weighted COP of the whole contact in the belt's frame, less the mass centre of half of the contact
  before, the contact and half of the one after, less 0.32 of the foot's length (85 mm where none is told).
- Landing first (what landing ahead once was): COP at touchdown less sum(F cop)/sum(F) over two strides centred on it.
- Strike travel: COP at touchdown less that of 60-120 ms, belt's frame; zones by borders on it.
- Strike index: heel end of the foot found from the front end of the COP's path (see strike_index).
- Sides: by the alternation of the lateral COP in the first 30 % of contact; unknown without copx.
"""
import argparse
import csv
import json
import math
import sys

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.signal import butter, sosfiltfilt

GRAVITY = 9.81
LOW_PASS_HZ = 50.0
ISLAND_GAP_S = 0.010
MIN_CONTACT_S = 0.080
MIN_FLIGHT_S = 0.020
TRANSIENT_DIP_BW = 0.05
LANDING_S = 0.025        # the COP of the first 25 ms is the landing place
LANDING_FORCE_N = 50.0   # below this a plate's COP is offset and vibration
FRONT_FORCE_BW = 0.4     # the front end of the COP's path is looked for above this
FRONT_SHARE = 0.78       # where it lies along the foot, from the heel (measured: markers.py, 54 feet)
LOAD_SHARE, LOAD_MM = 0.32, 85.0  # the load's centre ahead of mid-foot
MIDDLE_S = (0.060, 0.120)
REAR_MM, FORE_MM, BORDER_MM = -76.0, -31.0, 4.0
SIDE_SHARE = 0.30        # feet land on their outer edge: only there are narrow runners far enough apart

COLUMNS = ("step,side,touchdown_s,toeoff_s,step_time_s,contact_ms,flight_ms,cadence_spm,duty_factor,"
           "peak_force_bw,load_rate_bw_s,load_rate_max_bw_s,impact_transient,transient_bw,transient_ms,"
           "com_drop_mm,com_low_ms,strike_index_pct,strike_zone,landing_ahead_mm,stiffness_kn_m,gait,"
           "flags,strike_travel_mm,landing_first_mm").split(",")


# ------------------------------------------------------------------------------------------- input
def read_csv(path):
    """Columns by name as float arrays; a blank cell is NAN."""
    with open(path, newline="") as f:
        rows = csv.reader(f)
        header = [h.strip() for h in next(rows)]
        data = [[float(c) if c.strip() else math.nan for c in row] for row in rows if row]
    table = np.array(data, dtype=float)
    return {name: table[:, i] for i, name in enumerate(header)}


def low_pass(x, rate, cutoff=LOW_PASS_HZ):
    if cutoff >= 0.45 * rate:
        return np.array(x)
    return sosfiltfilt(butter(2, cutoff, fs=rate, output="sos"), x)


# ---------------------------------------------------------------------------------------- baseline
def rough_flights(force, rate):
    """Spans of samples near the lower envelope; none when the body never leaves the ground.

    The envelope is a rolling 10 % quantile over 1.2 s (three steps), so that drift does not hide it.
    """
    y = low_pass(force, rate, 25.0)
    half = int(0.6 * rate)
    at = np.arange(0, len(y), max(1, int(0.05 * rate)))
    low = np.array([np.quantile(y[max(0, i - half):i + half + 1], 0.10) for i in at])
    high = np.array([np.quantile(y[max(0, i - half):i + half + 1], 0.90) for i in at])
    low, high = (np.interp(np.arange(len(y)), at, v) for v in (low, high))
    span = high - low
    if np.median(span) < 150.0 or np.median(low) > 0.35 * np.median(y):
        return []  # nobody, standing, or walking (double support: the floor is far above zero)
    near = y < low + np.maximum(25.0, 0.04 * span)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], near.astype(int), [0]))))
    return [(a, b) for a, b in zip(edges[::2], edges[1::2]) if b - a >= MIN_FLIGHT_S * rate]


def baseline(force, rate):
    """Offset of the unloaded sensor for every sample: the median of each flight's middle. In the mean over
    all flights of a slow run the last push still fades through the first third of the flight (35, 20, 9,
    3 N at 5, 15, 25, 35 % of it), and the landing begins in the last sixth: both are left out."""
    times, offsets = [], []
    for a, b in rough_flights(force, rate):
        times.append((a + b - 1) / 2)
        offsets.append(np.median(force[a + int(0.35 * (b - a)):b - int(0.15 * (b - a))]))
    if not times:
        return np.zeros(len(force))
    offsets = np.array([np.median(offsets[max(0, i - 2):i + 3]) for i in range(len(offsets))])
    return np.interp(np.arange(len(force)), times, offsets)


# ---------------------------------------------------------------------------------------- contacts
def crossings(y, level, first, last):
    """Interpolated up- and down-crossings of level between samples first..last (inclusive)."""
    i = np.arange(first, last)
    a, b = y[first:last] - level, y[first + 1:last + 1] - level
    up, down = (a < 0) & (b >= 0), (a >= 0) & (b < 0)
    at = i + a / np.where(a == b, 1.0, a - b)
    return at[up], at[down]


def edge_up(y, level, inside, first, gap):
    """Touchdown: the last up-crossing before `inside`, moved back by the time that joined islands
    before it spent above the level. Islands join while the dip between them is at most `gap` long."""
    ups, downs = crossings(y, level, first, inside)
    if not len(ups):
        return None
    edge = start = ups[-1]
    for up in ups[-2::-1]:
        down = downs[downs > up][0]
        if start - down > gap:
            break
        edge -= down - up
        start = up
    return edge


def edge_down(y, level, inside, last, gap):
    """Toe-off: the mirror of edge_up."""
    flipped = edge_up(y[::-1], level, len(y) - 1 - inside, len(y) - 1 - last, gap)
    return None if flipped is None else len(y) - 1 - flipped


def find_contacts(force, rate, threshold):
    """(touchdown, toe-off) in samples, as floats, of every whole contact."""
    smooth = low_pass(force, rate)
    above = smooth >= threshold
    edges = np.flatnonzero(np.diff(np.concatenate(([0], above.astype(int), [0]))))
    spans = [[a, b] for a, b in zip(edges[::2], edges[1::2]) if smooth[a:b].max() >= 4 * threshold]
    joined = spans[:1]
    for a, b in spans[1:]:
        if a - joined[-1][1] < MIN_FLIGHT_S * rate:
            joined[-1][1] = b
        else:
            joined.append([a, b])
    gap, found = ISLAND_GAP_S * rate, []
    for k, (a, b) in enumerate(joined):
        strong = a + np.flatnonzero(force[a:b] >= 4 * threshold)
        if not len(strong):
            continue
        first = joined[k - 1][1] if k else 0
        last = joined[k + 1][0] if k + 1 < len(joined) else len(force) - 1
        down = edge_up(force, threshold, strong[0], max(0, min(first, a)), gap)
        off = edge_down(force, threshold, strong[-1], max(last, b - 1), gap)
        if down is None or off is None or (off - down) < MIN_CONTACT_S * rate:
            continue
        found.append((down, off))
    return np.array(found).reshape(-1, 2)


def mean_between(y, a, b):
    """Mean of y over the samples from a (float) up to b (float)."""
    i, j = int(math.ceil(a)), int(math.ceil(b))
    return float(np.mean(y[i:j])) if j > i else math.nan


def whole_strides_weight(force, down):
    """Mean force over an even number of steps: body weight, by the momentum balance."""
    n = (len(down) - 1) // 2 * 2
    return mean_between(force, down[0], down[n]) if n >= 2 else math.nan


# ----------------------------------------------------------------------------------------- loading
def loading(smooth, rate, down, off, weight):
    """Peak, transient and loading rate of one contact, in BW, ms and BW/s."""
    i, j = int(math.ceil(down)), int(math.floor(off))
    y = smooth[i:j + 1] / weight
    t = (np.arange(i, j + 1) - down) / rate
    active = int(np.argmax(np.where(t > 0.25 * t[-1], y, -np.inf)))  # downhill the impact may be higher
    out = {"peak": float(y[active]), "transient": None}
    limit = min(0.30 * (off - down) / rate, 0.075)
    for k in range(1, active):
        if t[k] > limit:
            break
        if y[k] > y[k - 1] and y[k] >= y[k + 1]:
            if y[k] - y[k:active + 1].min() >= TRANSIENT_DIP_BW:
                out["transient"] = (float(y[k]), float(t[k] * 1e3))
                break
    if out["transient"]:
        target, upto = out["transient"][0], int(round(out["transient"][1] * 1e-3 * rate + down)) - i
    else:
        at = 0.13 * (off - down) / rate
        target = float(np.interp(at, t, y))
        upto = int(np.searchsorted(t, at))
    first = max(0, i - 3)  # a filtered edge may begin before the touchdown
    y2, t2 = smooth[first:i + upto + 1] / weight, (np.arange(first, i + upto + 1) - down) / rate
    lo, hi = (crossings(y2, share * target, 0, len(y2) - 1)[0] for share in (0.2, 0.8))
    if not len(lo) or not len(hi) or hi[0] <= lo[0]:
        out["rate"] = out["rate_max"] = math.nan
        return out
    lo, hi = lo[0], hi[0]
    out["rate"] = float(0.6 * target / (hi - lo) * rate)
    inner = np.concatenate(([lo], np.arange(math.ceil(lo), math.floor(hi) + 1), [hi]))
    inner = inner[np.concatenate(([True], np.diff(inner) > 1e-9))]
    whole = np.arange(math.floor(lo), math.ceil(hi) + 1)
    out["rate_max"] = float(np.diff(y2[whole]).max() * rate)
    return out


# ------------------------------------------------------------------------------------- mass centre
def com_in_stride(force, rate, start, end, down, off):
    """Drop below touchdown (m), time of the low (s after touchdown) and whole travel (m)."""
    at = np.concatenate(([start], np.arange(math.floor(start) + 1, math.ceil(end)), [end]))
    f = np.interp(at, np.arange(len(force)), force)
    t = at / rate
    weight = np.trapz(f, t) / (t[-1] - t[0])
    v = cumulative_trapezoid(GRAVITY * (f / weight - 1.0), t, initial=0.0)
    v -= np.trapz(v, t) / (t[-1] - t[0])
    y = cumulative_trapezoid(v, t, initial=0.0)
    inside = np.flatnonzero((at >= down) & (at <= off))
    k = inside[np.argmin(y[inside])]
    low, low_t = y[k], t[k]
    if 0 < k < len(y) - 1 and v[k] != v[k - 1]:
        # the low lies where the velocity passes zero: between two samples
        a = k if v[k] < 0 else k - 1
        if v[a] < 0 <= v[a + 1]:
            share = -v[a] / (v[a + 1] - v[a])
            low_t = t[a] + share * (t[a + 1] - t[a])
            low = y[a] + 0.5 * v[a] * share * (t[a + 1] - t[a])
    y_down = np.interp(down, at, y)
    return y_down - low, low_t - down / rate, y.max() - y.min()


def centre_of_mass(force, rate, contacts, k):
    down = contacts[:, 0]
    got = []
    for first in (k - 1, k):
        if first >= 0 and first + 2 < len(down):
            got.append(com_in_stride(force, rate, down[first], down[first + 2], *contacts[k]))
    return np.mean(got, axis=0) if got else np.full(3, math.nan)


def weighted_cop(force, cop, a, b):
    i, j = int(math.ceil(a)), int(math.ceil(b))
    f, c = force[i:j], cop[i:j]
    ok = np.isfinite(c) & (f > 0)
    return float(np.sum(f[ok] * c[ok]) / np.sum(f[ok])) if ok.any() else math.nan


def mass_centre_fwd(force, copy, down, k, strides=2):
    """Force-weighted COP over `strides` whole strides, centred on touchdown k as far as the trace allows."""
    n = 2 * strides
    first = min(max(0, k - strides), len(down) - 1 - n)
    if first < 0:
        n = (len(down) - 1) // 2 * 2
        first = min(max(0, k - n // 2), len(down) - 1 - n)
        if n < 2:
            return math.nan
    return weighted_cop(force, copy, down[first], down[first + n])


def belt_path(force, copy, rate, down, off, speed):
    """Samples of one contact whose COP can be used: (time after touchdown, force, COP carried forward
    by the belt's travel since touchdown, so that a foot at rest on the belt has a constant place)."""
    n = np.arange(int(math.ceil(down)), int(math.floor(off)) + 1)
    t, f = (n - down) / rate, force[n]
    x = copy[n] + t * (speed * 1e3 if math.isfinite(speed) else 0.0)
    ok = np.isfinite(x) & (f >= LANDING_FORCE_N)
    return t[ok], f[ok], x[ok]


def landing_cop(force, copy, rate, down, off, speed):
    """COP at touchdown, lab frame of that instant: the force-weighted mean of belt_path over the first
    LANDING_S. On the recorded runs a single sample at 50, 100, 200 N scatters by 115, 82, 50 mm from
    step to step against the heel marker (belt vibration), this mean by 14 mm."""
    t, f, x = belt_path(force, copy, rate, down, off, speed)
    w = t <= LANDING_S
    return float(np.sum(f[w] * x[w]) / np.sum(f[w])) if w.any() else math.nan


# ------------------------------------------------------------------------------------------- sides
def sides(force, copx, contacts):
    """'L'/'R' per contact, by the alternation of the lateral COP over the whole run: each contact is
    compared with the mean of its neighbours, which takes out the runner's drift across the belt."""
    if copx is None or len(contacts) < 4:
        return [""] * len(contacts)
    x = np.array([weighted_cop(force, copx, a, a + SIDE_SHARE * (b - a)) for a, b in contacts])
    step = np.diff(contacts[:, 0])
    usual = np.median(step)
    parity = np.concatenate(([0], np.cumsum(np.maximum(1, np.round(step / usual)).astype(int)))) % 2
    lean = x[1:-1] - 0.5 * (x[:-2] + x[2:])
    usable = (parity[:-2] == parity[2:]) & (parity[:-2] != parity[1:-1]) & np.isfinite(lean)
    vote = np.sum(np.where(parity[1:-1] == 1, lean, -lean)[usable])
    right = parity == 1 if vote > 0 else parity == 0
    return ["R" if r else "L" for r in right]


# ------------------------------------------------------------------------------------------- steps
def front_of_path(force, copy, rate, down, off, speed, weight):
    """Front end of the COP's path over the resting foot: 95th percentile of belt_path under load."""
    _, f, x = belt_path(force, copy, rate, down, off, speed)
    x = x[f >= FRONT_FORCE_BW * weight]
    return float(np.quantile(x, 0.95)) if len(x) else math.nan


def strike_index(cop_down, front, foot):
    """Landing COP along the foot, % from the heel (Cavagna and Lafortune 1980). The COP does not leave
    the belt at the tip of the toes but under the ball and the great toe: its front end lies at
    FRONT_SHARE of the foot's length. Heel end = front - FRONT_SHARE x foot length."""
    return 100.0 * (FRONT_SHARE - (front - cop_down) / foot)


def place_on_foot(rows, foot):
    """Strike index of every row."""
    for row in rows:
        row["strike_index_pct"] = strike_index(0.0, row["front_mm"], foot)


def zone_of(travel):
    if not math.isfinite(travel):
        return ""
    if min(abs(travel - REAR_MM), abs(travel - FORE_MM)) < BORDER_MM:
        return "border"
    return "rear" if travel < REAR_MM else "fore" if travel > FORE_MM else "mid"


def window_cop(force, copy, rate, down, start, end, speed):
    """Force-weighted COP in the belt's frame over [start, end) seconds after touchdown."""
    n = np.arange(int(math.ceil(down + start * rate)), int(math.ceil(down + end * rate)))
    n = n[n < len(force)]
    f, x = force[n], copy[n] + (n - down) / rate * speed * 1e3
    ok = np.isfinite(x) & (f > 0)
    return float(np.sum(f[ok] * x[ok]) / np.sum(f[ok])) if ok.sum() > 2 else math.nan


def stride_centre(force, copy, down, k):
    """Mass centre of half of the contact before, the contact and half of the one after; at a run's ends of two."""
    parts = [(k - 1, 0.5), (k, 1.0), (k + 1, 0.5)] if 0 < k < len(down) - 2 else \
            [(k, 1.0), (k + 1, 1.0)] if k == 0 else [(k - 1, 1.0), (k, 1.0)] if k == len(down) - 2 else [(k - 2, 1.0), (k - 1, 1.0)]
    moment = total = 0.0
    for j, share in parts:
        if not 0 <= j < len(down) - 1:
            return math.nan
        n = np.arange(int(math.ceil(down[j])), int(math.ceil(down[j + 1])))
        ok = np.isfinite(copy[n]) & (force[n] > 0)
        moment += share * np.sum(force[n][ok] * copy[n][ok])
        total += share * np.sum(force[n][ok])
    return moment / total if total > 0 else math.nan


def analyse(trace, rate=math.nan, mass=math.nan, speed=math.nan, foot=math.nan, leg=math.nan,
            threshold=50.0):
    """Rows (dicts by COLUMNS) and a summary dict."""
    t = trace.get("t")
    if not math.isfinite(rate):
        rate = (len(t) - 1) / (t[-1] - t[0])
    t0 = float(t[0]) if t is not None else 0.0
    raw = trace["fz"]
    force = raw - baseline(raw, rate)
    smooth = low_pass(force, rate)
    grounded = not rough_flights(raw, rate)
    contacts = np.zeros((0, 2)) if grounded else find_contacts(force, rate, threshold)
    down, off = contacts[:, 0], contacts[:, 1]
    balance = whole_strides_weight(force, down)
    weight = mass * GRAVITY if math.isfinite(mass) else balance
    copx, copy = trace.get("copx"), trace.get("copy")
    foot_of = sides(force, copx, contacts)
    gait = "unknown"
    if grounded:
        moving = np.std(low_pass(raw, rate, 6.0)) > 0.05 * np.mean(raw)
        gait = "off" if np.median(raw) < 150.0 else "walking" if moving else "standing"
    elif len(down) > 2:
        duty = np.median((off[:-2] - down[:-2]) / (down[2:] - down[:-2]))
        gait = "running" if duty < 0.5 else "walking"
    rows = []
    for k, (a, b) in enumerate(contacts if gait == "running" else []):
        row = dict.fromkeys(COLUMNS, math.nan)
        row.update(step=k + 1, side=foot_of[k], gait=gait, flags="", touchdown_s=t0 + a / rate,
                   toeoff_s=t0 + b / rate, contact_ms=(b - a) / rate * 1e3, strike_zone="")
        if k + 1 < len(down):
            row["step_time_s"] = (down[k + 1] - a) / rate
            row["flight_ms"] = (down[k + 1] - b) / rate * 1e3
            row["cadence_spm"] = 60.0 / row["step_time_s"]
        if k + 2 < len(down):
            row["duty_factor"] = (b - a) / (down[k + 2] - a)
        load = loading(smooth, rate, a, b, weight)
        row.update(peak_force_bw=load["peak"], load_rate_bw_s=load["rate"],
                   load_rate_max_bw_s=load["rate_max"], impact_transient=int(bool(load["transient"])))
        if load["transient"]:
            row["transient_bw"], row["transient_ms"] = load["transient"]
        drop, low, travel = centre_of_mass(force, rate, contacts, k)
        row.update(com_drop_mm=drop * 1e3, com_low_ms=low * 1e3, com_travel_mm=travel * 1e3)
        if drop > 0:
            row["stiffness_kn_m"] = load["peak"] * weight / drop * 1e-3
        if copy is not None:
            cop = landing_cop(force, copy, rate, a, b, speed)
            centre = mass_centre_fwd(force, copy, down, k)
            row.update(landing_first_mm=cop - centre, cop_down_mm=cop, com_fwd_mm=centre)
            if math.isfinite(speed):
                whole = window_cop(force, copy, rate, a, 0.0, (b - a) / rate, speed)
                taken_off = LOAD_SHARE * foot if math.isfinite(foot) else LOAD_MM
                row["landing_ahead_mm"] = whole - stride_centre(force, copy, down, k) - taken_off
                if (b - a) / rate >= MIDDLE_S[1]:
                    row["strike_travel_mm"] = cop - window_cop(force, copy, rate, a, *MIDDLE_S, speed)
                row["strike_zone"] = zone_of(row["strike_travel_mm"])
            row["front_mm"] = front_of_path(force, copy, rate, a, b, speed, weight) - cop
        rows.append(row)
    if copy is not None and math.isfinite(speed) and math.isfinite(foot):
        place_on_foot(rows, foot)
    summary = {"steps": len(rows), "gait": gait, "body_weight_n": weight, "balance_n": balance,
               "body_weight_from": "mass" if math.isfinite(mass) else "momentum", "rate_hz": rate}
    return rows, summary


def cell(name, value):
    if isinstance(value, str):
        return value
    if name in ("step", "impact_transient"):
        return str(int(value))
    if not math.isfinite(value):
        return ""
    return f"{value:.6f}" if name.endswith("_s") and name[:4] in ("touc", "toeo") else f"{value:.4f}"


def write_table(rows, out):
    out.write(",".join(COLUMNS) + "\n")
    for row in rows:
        out.write(",".join(cell(c, row[c]) for c in COLUMNS) + "\n")


def main():
    p = argparse.ArgumentParser(description="offline reference: force trace to step table")
    p.add_argument("trace")
    for name in ("rate", "mass", "speed", "foot", "leg"):
        p.add_argument("--" + name, type=float, default=math.nan)
    p.add_argument("--threshold", type=float, default=50.0)
    p.add_argument("--summary", action="store_true")
    a = p.parse_args()
    rows, summary = analyse(read_csv(a.trace), a.rate, a.mass, a.speed, a.foot, a.leg, a.threshold)
    if a.summary:
        print(json.dumps(summary))
    else:
        write_table(rows, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
