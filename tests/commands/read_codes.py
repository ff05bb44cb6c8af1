"""Reads every code in pictures and in the pages of a PDF; prints one JSON list a page: [[kind, text], ...].

The readers are zxing-cpp and, for the pages, PDFium (both of PyPI): somebody else's code, which shares nothing with ours.
"""

import json
import sys

import pypdfium2
import zxingcpp
from PIL import Image


def pictures(path):
    if path.endswith(".pdf"):
        for page in pypdfium2.PdfDocument(path):
            # As a printer of 203 dots an inch makes it.
            yield page.render(scale=203 / 72).to_pil().convert("L")
    else:
        yield Image.open(path).convert("L")


for path in sys.argv[1:]:
    for picture in pictures(path):
        found = zxingcpp.read_barcodes(picture)
        print(json.dumps(sorted([str(code.format).split(".")[-1], code.text] for code in found)))
