"""Writes funnel_limits.csv: exact binomial limits of 99.8 %, by SciPy's (1.17) binomial distribution. Run in tests/data; it
shares nothing with the program."""

import csv

from scipy.stats import binom


def limit(share, count, chance):
    return int(binom.ppf(chance, count, share)) / count


with open("funnel_limits.csv", "w", newline="") as file:
    table = csv.writer(file, lineterminator="\n")
    table.writerow(["share", "count", "low", "high"])
    for share in [0.2313, 0.5, 0.8, 0.9, 0.95, 0.97, 0.99, 0.999]:
        for count in [1, 2, 5, 10, 17, 50, 120, 400, 3000]:
            low, high = limit(share, count, 0.001), limit(share, count, 0.999)
            table.writerow([share, count, repr(low), repr(high)])
