"""Writes table.tsv.gz: numbers in words by PyPI num2words 0.5.14, an independent library.

Columns: the number, to="cardinal", to="year" (whole numbers from 1000 on), to="ordinal" (whole numbers).
Run with num2words==0.5.14 installed: python3 generate.py
"""

import gzip
import pathlib
from decimal import Decimal

from num2words import num2words

lines = []
for number in range(10_000):
    year = num2words(number, to="year") if number >= 1000 else ""
    lines.append(f"{number}\t{num2words(number)}\t{year}\t{num2words(number, to='ordinal')}")
for hundredths in range(0, 3_000):
    if hundredths % 100:
        text = f"{hundredths // 100}.{hundredths % 100:02}".rstrip("0")
        lines.append(f"{text}\t{num2words(Decimal(text))}\t\t")
for thousandths in range(1, 1_000, 2):
    text = f"0.{thousandths:03}".rstrip("0")
    lines.append(f"{text}\t{num2words(Decimal(text))}\t\t")
for text in ["173.5", "1905.25", "9999.9", "0.000001", "-5", "-17.5", "123456", "1000000", "999999999"]:
    lines.append(f"{text}\t{num2words(Decimal(text) if '.' in text else int(text))}\t\t")

out = pathlib.Path(__file__).with_name("table.tsv.gz")
out.write_bytes(gzip.compress(("\n".join(lines) + "\n").encode(), 9, mtime=0))
print(f"{len(lines)} lines, {out.stat().st_size} bytes")
