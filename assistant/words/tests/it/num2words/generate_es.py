"""Writes table_es.tsv.gz: numbers in Spanish words by PyPI num2words 0.5.14, an independent library.

Columns: the number, its words. That library says "punto" for the decimal mark; the tests expect "coma" there.
Run with num2words==0.5.14 installed: python3 generate_es.py
"""

import gzip
import pathlib
from decimal import Decimal

from num2words import num2words

lines = [f"{number}\t{num2words(number, lang='es')}" for number in range(10_000)]
for hundredths in range(3_000):
    if hundredths % 100:
        text = f"{hundredths // 100}.{hundredths % 100:02}".rstrip("0")
        lines.append(f"{text}\t{num2words(Decimal(text), lang='es')}")
for number in [10_000, 16_500, 100_000, 123_456, 1_000_000, 2_000_016, -5]:
    lines.append(f"{number}\t{num2words(number, lang='es')}")

out = pathlib.Path(__file__).with_name("table_es.tsv.gz")
out.write_bytes(gzip.compress(("\n".join(lines) + "\n").encode(), 9, mtime=0))
print(f"{len(lines)} lines, {out.stat().st_size} bytes")
