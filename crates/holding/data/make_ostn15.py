#!/usr/bin/env python3
"""Makes `ostn15.zip` from the text table of Ordnance Survey's OSTN15 developer pack.

    make_ostn15.py OSTN15_OSGM15_DataFile.txt[.xz] OUTPUT.zip

The table has one row for each kilometre corner of a 701 by 1251 grid (west to east, then south to north) with
the shift from ETRS89 to OSGB36 in metres, to three decimals. Only the east and north shifts are kept, as whole
millimetres, so nothing is lost. Each value is stored as its difference from what the plane through its western,
southern and south-western neighbours foretells (neighbours outside the grid count as 0), folded to an unsigned
number (0, -1, 1, -2, ... become 0, 1, 2, 3, ...), 7 bits a byte, lowest first, the top bit set on all but the last.
`ostn15.bin` in the archive holds all east shifts and then all north shifts; `OSTN15_LICENCE.txt` the licence.
"""
import csv
import lzma
import sys
import zipfile
from pathlib import Path

COLS, ROWS = 701, 1251
EPOCH = (2016, 1, 1, 0, 0, 0)


def millimetres(text):
    sign = -1 if text.startswith("-") else 1
    whole, _, part = text.lstrip("-").partition(".")
    return sign * (int(whole) * 1000 + int((part + "000")[:3]))


def fold(value):
    return value * 2 if value >= 0 else -value * 2 - 1


def put(out, value):
    while value >= 0x80:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    out.append(value)


def packed(values):
    out = bytearray()
    for row in range(ROWS):
        for col in range(COLS):
            west = values[row * COLS + col - 1] if col else 0
            south = values[(row - 1) * COLS + col] if row else 0
            corner = values[(row - 1) * COLS + col - 1] if row and col else 0
            put(out, fold(values[row * COLS + col] - (west + south - corner)))
    return bytes(out)


def main(source, target):
    opener = lzma.open if source.endswith(".xz") else open
    east, north = [], []
    with opener(source, "rt", newline="") as lines:
        for number, row in enumerate(csv.DictReader(lines)):
            assert int(row["ETRS89_Easting"]) == number % COLS * 1000, row
            assert int(row["ETRS89_Northing"]) == number // COLS * 1000, row
            east.append(millimetres(row["ETRS89_OSGB36_EShift"]))
            north.append(millimetres(row["ETRS89_OSGB36_NShift"]))
    assert len(east) == COLS * ROWS
    licence = Path(__file__).with_name("OSTN15_LICENCE.txt").read_bytes()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, data in (("ostn15.bin", packed(east) + packed(north)), ("OSTN15_LICENCE.txt", licence)):
            info = zipfile.ZipInfo(name, EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, data)


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    main(sys.argv[1], sys.argv[2])
