"""Check values for `dwell spray`: spray_tasks.csv, made with SciPy (1.17) by integration over the print.

Run as `python spray_tasks.py > spray_tasks.csv` with numpy and scipy. It shares nothing with the program: the coat is
a function of a point, the sum over all strokes of what each lays there, integrated with scipy.integrate.quad over the
print (for every twentieth task with dblquad over both directions at once, which must agree), and searched for its least
and greatest value at 101 places within each piece: a seam of no width is none.

What is modelled, in centimetres, grams and seconds:
* The print is w x h; with the margin m around it W x H is sprayed.
* Strokes across lie side by side about the middle of H, a pitch of fan (1 - overlap) apart, as few as reach from edge
  to edge; each runs from `past` before W to `past` beyond it. Strokes up and down likewise about W.
* A stroke at speed v lays flow kept / v grams on each centimetre of its way, spread over the fan by its profile.
  Tapered: level over the middle 40 % of the fan, straight down to nothing over 30 % on either side. Even: level.
* v is such that the mean over the print is the coat that was asked for.
* On the cloth, where the scale finds it, lies all of it with the garment past the edge, and only what falls on W x H
  with a mask or a board there.
"""

import math
import random

import numpy as np
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq


def profile(kind, off, fan):
    off = abs(off)
    if kind == "even":
        return 1.0 / fan if off < fan / 2 else 0.0
    if off >= fan / 2:
        return 0.0
    return min(1.0, (fan / 2 - off) / (0.3 * fan)) / (0.7 * fan)


def lanes(side, fan, overlap):
    """Middles of strokes, from the middle of the side."""
    pitch, count = fan * (1 - overlap), 1
    while fan + (count - 1) * pitch < side - 1e-6:
        count += 1
    return [(n - (count - 1) / 2) * pitch for n in range(count)]


def kinks(middles, fan, low, high):
    ends = [m + f * fan for m in middles for f in (-0.5, -0.2, 0.2, 0.5)]
    return sorted({round(end, 9) for end in ends if low < end < high})


def integral(of, middles, fan, low, high):
    """Between kinks, so that quad never meets one."""
    places = [low, *kinks(middles, fan, low, high), high]
    pairs = [(a, b) for a, b in zip(places, places[1:]) if b - a > 1e-7]
    return sum(quad(of, a, b, epsabs=1e-12, epsrel=1e-12)[0] for a, b in pairs)


def extremes(of, middles, fan, low, high):
    places = [low, *kinks(middles, fan, low, high), high]
    tried = []
    for a, b in zip(places, places[1:]):
        if b - a > 1e-7:
            tried += [of(x) for x in np.linspace(a + 1e-9, b - 1e-9, 101)]
    return min(tried), max(tried)


def check(task):
    flow, fan, w, h, m, overlap, kept, past, kind, onto, coat = task
    width, height = w + 2 * m, h + 2 * m
    across, down = lanes(height, fan, overlap), lanes(width, fan, overlap)

    def a(y):
        return sum(profile(kind, y - middle, fan) for middle in across)

    def d(x):
        return sum(profile(kind, x - middle, fan) for middle in down)

    whole_a = integral(a, across, fan, -h / 2, h / 2)
    whole_d = integral(d, down, fan, -w / 2, w / 2)
    per_way = (whole_a * w + whole_d * h) / (w * h)

    def mean_at(v):
        return flow * kept / v * per_way * 1e4

    v = brentq(lambda v: mean_at(v) - coat, 1e-9, 1e9, xtol=1e-12, rtol=1e-14)
    k = flow * kept / v * 1e4
    mean_a, mean_d = whole_a / h, whole_d / w
    var = integral(lambda y: (a(y) - mean_a) ** 2, across, fan, -h / 2, h / 2) / h
    var += integral(lambda x: (d(x) - mean_d) ** 2, down, fan, -w / 2, w / 2) / w
    low_a, high_a = extremes(a, across, fan, -h / 2, h / 2)
    low_d, high_d = extremes(d, down, fan, -w / 2, w / 2)
    if onto == "garment":
        cloth = len(across) * (width + 2 * past) + len(down) * (height + 2 * past)
    else:
        cloth = integral(a, across, fan, -height / 2, height / 2) * width
        cloth += integral(d, down, fan, -width / 2, width / 2) * height
    scale = flow * kept / v * cloth
    return [
        v, len(across), len(down), k * (mean_a + mean_d), k * (low_a + low_d), k * (high_a + high_d),
        math.sqrt(var) / (mean_a + mean_d), k * min(low_a, low_d), k * max(high_a, high_d), scale,
        coat * w * h / 1e4 / scale,
    ], lambda x, y: k * (a(y) + d(x))


def main():
    rng = random.Random(14)
    head = "flow,fan,width,height,margin,overlap,kept,past,profile,onto,coat,speed,across,down,mean,low,high,cv,"
    print(head + "one_way_low,one_way_high,scale,under_print")
    for n in range(240):
        w, h = [(4 * 2.54, 4 * 2.54), (14 * 2.54, 16 * 2.54)][n % 3] if n % 3 < 2 else (
            round(rng.uniform(5, 60), 2), round(rng.uniform(5, 60), 2))
        overlap = rng.choice([0.0, 0.3, 0.5, round(rng.uniform(0, 0.8), 2)])
        task = (
            round(rng.uniform(0.3, 6), 2), round(rng.uniform(3, 40), 2), round(w, 4), round(h, 4),
            rng.choice([0.0, 1.27, round(rng.uniform(0, 5), 2)]), overlap, round(rng.uniform(0.3, 1), 2),
            rng.choice([0.0, 5.08, round(rng.uniform(0, 15), 2)]), rng.choice(["tapered", "even"]),
            ["garment", "mask", "board"][n // 3 % 3], round(rng.uniform(60, 400), 1),
        )
        found, at = check(task)
        if n % 20 == 0:
            w, h = task[2], task[3]
            both = dblquad(lambda y, x: at(x, y), -w / 2, w / 2, -h / 2, h / 2, epsabs=1e-2, epsrel=1e-3)[0]
            assert abs(both / (w * h) - task[-1]) < 5e-3 * task[-1], (task, both / (w * h))
        print(",".join(str(part) for part in task) + "," + ",".join(f"{part:.12g}" for part in found))


main()
