"""Makes the ICC profiles beside this file, and what littleCMS says of colours in them (expected.csv).

    python make.py OUT        writes the profiles and expected.csv into OUT

The profiles are written here byte by byte by ICC.1:2001-04 (version 2) and ICC.1:2022 (version 4), from published
primaries and curves:

- sRGB: IEC 61966-2-1. Gamma 1.0, 1.8, 2.2 and 2.4 on its primaries; L*: ISO/CIE 11664-4, read backwards.
- "wide": 0.64 0.33, 0.21 0.71, 0.15 0.06, gamma 563/256, white D65 (the widespread wide space of 1998).
- "cinema": SMPTE EG 432-1's primaries with white D65 and sRGB's curve.
- "television": ITU-R BT.2020's primaries, gamma 2.4.
- "film": ISO 22028-2's primaries (0.7347 0.2653, 0.1596 0.8404, 0.0366 0.0001), white D50, gamma 1.8.
- grey by a gamma, and by CIELAB; RGB and CMYK by tables, of a device that we made up.

The answers are those of littleCMS 2, called in the shared library that the wheel of Pillow (PyPI) brings along,
because Pillow's own ImageCms knows 8 bits only: relative colorimetric, to littleCMS's own sRGB, in doubles, without
optimisation, cut to 0 to 1.
"""

import ctypes
import glob
import os
import struct
import sys

D50 = (0.9642, 1.0, 0.8249)
D65 = (0.3127, 0.3290)


def s15(value):
    return struct.pack(">i", round(value * 65536))


def times(matrix, column):
    return [sum(m * c for m, c in zip(row, column)) for row in matrix]


def inverse(m):
    (a, b, c), (d, e, f), (g, h, i) = m
    det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    return [
        [(e * i - f * h) / det, (c * h - b * i) / det, (b * f - c * e) / det],
        [(f * g - d * i) / det, (a * i - c * g) / det, (c * d - a * f) / det],
        [(d * h - e * g) / det, (b * g - a * h) / det, (a * e - b * d) / det],
    ]


def product(a, b):
    return [[sum(a[i][k] * b[k][j] for k in range(3)) for j in range(3)] for i in range(3)]


def xyz(x, y):
    return [x / y, 1.0, (1 - x - y) / y]


# Bradford's matrix (ICC.1:2022, annex E).
CONES = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]


def colorants(primaries, white):
    """Columns of the matrix from linear RGB to XYZ under D50."""
    columns = [xyz(*p) for p in primaries]
    matrix = [[column[row] for column in columns] for row in range(3)]
    scale = times(inverse(matrix), xyz(*white))
    matrix = [[m * s for m, s in zip(row, scale)] for row in matrix]
    source, target = times(CONES, xyz(*white)), times(CONES, D50)
    adapt = [[0.0] * 3 for _ in range(3)]
    for n in range(3):
        adapt[n][n] = target[n] / source[n]
    return product(product(product(inverse(CONES), adapt), CONES), matrix)


def tag_xyz(values):
    return b"XYZ \0\0\0\0" + b"".join(s15(v) for v in values)


def tag_curve(values):
    return b"curv\0\0\0\0" + struct.pack(">I", len(values)) + struct.pack(f">{len(values)}H", *values)


def tag_para(kind, values):
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + b"".join(s15(v) for v in values)


def table(count, curve):
    return tag_curve([round(65535 * curve(n / (count - 1))) for n in range(count)])


def text(version, words):
    if version == 2:
        body = words.encode() + b"\0"
        return b"desc\0\0\0\0" + struct.pack(">I", len(body)) + body + bytes(12) + bytes(67)
    body = words.encode("utf-16-be")
    return b"mluc\0\0\0\0" + struct.pack(">II", 1, 12) + b"enUS" + struct.pack(">II", len(body), 28) + body


def profile(version, kind, space, pcs, tags):
    tags = [(b"desc", text(version, "made for a test")), (b"wtpt", tag_xyz(D50))] + tags
    if version == 2:
        tags.append((b"cprt", b"text\0\0\0\0free of rights\0"))
    else:
        tags.append((b"cprt", text(4, "free of rights")))
    table, data, at = b"", b"", 128 + 4 + 12 * len(tags)
    seen = {}
    for name, body in tags:
        if body not in seen:
            seen[body] = at + len(data)
            data += body + bytes(-len(body) % 4)
        table += name + struct.pack(">II", seen[body], len(body))
    head = struct.pack(">I4sI4s4s4s", at + len(data), b"\0\0\0\0", version << 24, kind, space, pcs)
    head += struct.pack(">6H", 2026, 11, 30, 0, 0, 0) + b"acsp" + bytes(24)
    head += struct.pack(">I", 1) + b"".join(s15(v) for v in D50)
    head += bytes(128 - len(head))
    return head + struct.pack(">I", len(tags)) + table + data


def shaper(version, primaries, white, curve):
    matrix = colorants(primaries, white)
    tags = [(name + b"XYZ", tag_xyz([row[n] for row in matrix])) for n, name in enumerate((b"r", b"g", b"b"))]
    tags += [(name + b"TRC", curve) for name in (b"r", b"g", b"b")]
    return profile(version, b"mntr", b"RGB ", b"XYZ ", tags)


def linear(v):
    return v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4


def lab(xyz):
    def f(t):
        return t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29

    x, y, z = (f(max(v, 0) / w) for v, w in zip(xyz, D50))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def code(version, lab):
    """CIELAB in 16 bits: version 2 has 0xff00 for L* 100, version 4 0xffff."""
    most = 65280 if version == 2 else 65535
    step = 256 if version == 2 else 257
    l, a, b = lab
    return [max(0, min(65535, round(v))) for v in (l / 100 * most, (a + 128) * step, (b + 128) * step)]


SRGB = [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)]
CINEMA = [(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)]


def device_rgb(rgb):
    """A device of our own: steep curves, and each channel a little of the others."""
    own = [v**1.9 for v in rgb]
    mixed = [0.9 * own[n] + 0.07 * own[(n + 1) % 3] + 0.03 * own[n] * own[(n + 2) % 3] for n in range(3)]
    return lab(times(colorants(CINEMA, D65), mixed))


def device_cmyk(inks):
    """Inks of our own: each takes light away in all three thirds, with a gain of the dots."""
    c, m, y, k = (1 - (1 - v) ** 1.4 for v in inks)
    red = (1 - 0.93 * c) * (1 - 0.12 * m) * (1 - 0.03 * y) * (1 - 0.94 * k)
    green = (1 - 0.35 * c) * (1 - 0.88 * m) * (1 - 0.06 * y) * (1 - 0.94 * k)
    blue = (1 - 0.15 * c) * (1 - 0.45 * m) * (1 - 0.85 * y) * (1 - 0.93 * k)
    return lab(times(colorants(SRGB, D65), [0.9 * v for v in (red, green, blue)]))


def grid(version, points, inputs, device):
    codes = []

    def walk(at):
        if len(at) == inputs:
            codes.extend(code(version, device(at)))
            return
        for n in range(points):
            walk(at + [n / (points - 1)])

    walk([])
    return codes


def lut16(points, inputs, device):
    codes = grid(2, points, inputs, device)
    entry = [round(65535 * (n / 255) ** 1.1) for n in range(256)]
    head = b"mft2\0\0\0\0" + bytes([inputs, 3, points, 0])
    head += b"".join(s15(float(i == j)) for i in range(3) for j in range(3))
    head += struct.pack(">HH", 256, 2)
    body = struct.pack(">256H", *entry) * inputs + struct.pack(f">{len(codes)}H", *codes)
    return head + body + struct.pack(">2H", 0, 65535) * 3


def lut8(points, inputs, device):
    codes = [min(255, round(c / 257)) for c in grid(4, points, inputs, device)]
    head = b"mft1\0\0\0\0" + bytes([inputs, 3, points, 0])
    head += b"".join(s15(float(i == j)) for i in range(3) for j in range(3))
    same = bytes(range(256))
    return head + same * inputs + bytes(codes) + same * 3


def mab(points, inputs, device):
    """lutAToBType: curves A, table, curves B."""
    codes = grid(4, points, inputs, device)
    same = tag_curve([])
    a = tag_para(0, [1.1]) * inputs
    b = same * 3
    at_b = 32
    at_clut = at_b + len(b)
    clut = bytes([points] * inputs) + bytes(16 - inputs) + bytes([2, 0, 0, 0]) + struct.pack(f">{len(codes)}H", *codes)
    clut += bytes(-len(clut) % 4)
    head = b"mAB \0\0\0\0" + bytes([inputs, 3, 0, 0])
    return head + struct.pack(">5I", at_b, 0, 0, at_clut, at_clut + len(clut)) + b + clut + a


def tables(version, kind, space, tag):
    return profile(version, kind, space, b"Lab ", [(b"A2B0", tag)])


def grey(version, pcs, curve):
    return profile(version, b"mntr", b"GRAY", pcs, [(b"kTRC", curve)])


SRGB_PARA = tag_para(3, [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045])
PROFILES = {
    "srgb-v2": shaper(2, SRGB, D65, table(1024, linear)),
    "srgb-v4": shaper(4, SRGB, D65, SRGB_PARA),
    "gamma-1.0": shaper(2, SRGB, D65, tag_curve([])),
    "gamma-1.8": shaper(2, SRGB, D65, tag_curve([round(1.8 * 256)])),
    "gamma-2.2": shaper(2, SRGB, D65, tag_curve([round(2.2 * 256)])),
    "gamma-2.4": shaper(4, SRGB, D65, tag_para(0, [2.4])),
    "lightness": shaper(4, SRGB, D65, tag_para(3, [3, 100 / 116, 16 / 116, 2700 / 24389, 0.08])),
    "wide": shaper(2, [(0.64, 0.33), (0.21, 0.71), (0.15, 0.06)], D65, tag_curve([563])),
    "cinema": shaper(4, CINEMA, D65, SRGB_PARA),
    "television": shaper(4, [(0.708, 0.292), (0.170, 0.797), (0.131, 0.046)], D65, tag_para(0, [2.4])),
    "film": shaper(2, [(0.7347, 0.2653), (0.1596, 0.8404), (0.0366, 0.0001)], (0.3457, 0.3585), tag_curve([461])),
    "grey-1.0": grey(2, b"XYZ ", tag_curve([])),
    "grey-2.2": grey(2, b"XYZ ", table(256, lambda v: v**2.2)),
    "grey-lab": grey(2, b"Lab ", table(256, lambda v: v**0.8)),
    "tables-rgb-v2": tables(2, b"scnr", b"RGB ", lut16(9, 3, device_rgb)),
    "tables-rgb-v4": tables(4, b"scnr", b"RGB ", mab(9, 3, device_rgb)),
    "tables-cmyk-v2": tables(2, b"prtr", b"CMYK", lut16(7, 4, device_cmyk)),
    "tables-cmyk-8": tables(2, b"prtr", b"CMYK", lut8(7, 4, device_cmyk)),
    "tables-cmyk-v4": tables(4, b"prtr", b"CMYK", mab(7, 4, device_cmyk)),
}


def channels(name):
    return 1 if "grey" in name else 4 if "cmyk" in name else 3


def colours(name):
    """Corners, greys and pseudo-random codes of 8 bits; the multiplier is Knuth's (MMIX)."""
    count = channels(name)
    chosen = [[255 * (n >> bit & 1) for bit in range(count)] for n in range(2**count)]
    chosen += [[n * 15] * count for n in range(1, 17)]
    state = 1
    for _ in range(24):
        row = []
        for _ in range(count):
            state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
            row.append(state >> 56)
        chosen.append(row)
    unique = []
    for colour in chosen:
        if colour not in unique:
            unique.append(colour)
    return unique


def littlecms():
    import PIL

    beside = os.path.join(os.path.dirname(PIL.__file__), "..", "pillow.libs", "liblcms2*")
    library = ctypes.CDLL(glob.glob(beside)[0])
    library.cmsOpenProfileFromMem.restype = ctypes.c_void_p
    library.cmsOpenProfileFromMem.argtypes = [ctypes.c_char_p, ctypes.c_uint32]
    library.cmsCreate_sRGBProfile.restype = ctypes.c_void_p
    library.cmsCreateTransform.restype = ctypes.c_void_p
    library.cmsCreateTransform.argtypes = [
        ctypes.c_void_p, ctypes.c_uint32, ctypes.c_void_p, ctypes.c_uint32, ctypes.c_uint32, ctypes.c_uint32,
    ]
    library.cmsDoTransform.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_uint32]
    return library


# lcms2.h: FLOAT_SH(1) | COLORSPACE_SH(n) | CHANNELS_SH(n) | BYTES_SH(0), doubles.
SPACES = {1: 3, 3: 4, 4: 6}
NO_OPTIMIZE = 0x0100
RELATIVE = 1


def asked(library, bytes_, count, colour):
    source = library.cmsOpenProfileFromMem(bytes_, len(bytes_))
    assert source, "littleCMS refuses the profile"
    kind = 1 << 22 | SPACES[count] << 16 | count << 3
    to = 1 << 22 | SPACES[3] << 16 | 3 << 3
    transform = library.cmsCreateTransform(
        source, kind, library.cmsCreate_sRGBProfile(), to, RELATIVE, NO_OPTIMIZE
    )
    assert transform, "littleCMS makes no transform"
    # Inks are per cent in littleCMS's doubles.
    most = 100.0 if count == 4 else 1.0
    given = (ctypes.c_double * count)(*(most * c / 255 for c in colour))
    got = (ctypes.c_double * 3)()
    library.cmsDoTransform(transform, given, got, 1)
    return [min(1.0, max(0.0, v)) for v in got]


def main(out):
    library = littlecms()
    lines = ["profile,codes of 8 bits,red,green,blue (sRGB, 0 to 1, by littleCMS)"]
    for name, bytes_ in PROFILES.items():
        with open(os.path.join(out, name + ".icc"), "wb") as file:
            file.write(bytes_)
        for colour in colours(name):
            got = asked(library, bytes_, channels(name), colour)
            lines.append(f"{name},{' '.join(map(str, colour))}," + ",".join(f"{v:.6f}" for v in got))
    with open(os.path.join(out, "expected.csv"), "w") as file:
        file.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
