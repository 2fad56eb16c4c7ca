"""Prints documents as a person would, on A4 and US letter, and looks at them as a phone does, in a headless Chromium.

usage: sheets.py FOLDER FILE.html=PAGES...     PDFs and pictures go to FOLDER; exit status 1 and one line per problem

What it checks: no document is longer than so many pages on either paper, none scrolls sideways on a phone, none asks anything of anybody. It does not judge looks: the pictures
are for a person. They show the printed style at the width that is left between the margins.
"""

import base64
import pathlib
import re
import sys

from page import Browser, View

# Width and height in inches: ISO 216, and ANSI/ASME Y14.1 size A.
PAPERS = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}
MARGIN_IN = 12 / 25.4
PX_PER_IN = 96
PHONE_PX = 390


def printed(view, folder, name, pages_max):
    problems = []
    for paper, (width, height) in PAPERS.items():
        data = view.call("Page.printToPDF", paperWidth=width, paperHeight=height, marginTop=MARGIN_IN, marginBottom=MARGIN_IN,
                         marginLeft=MARGIN_IN, marginRight=MARGIN_IN, printBackground=False, preferCSSPageSize=False)["data"]
        pdf = base64.b64decode(data)
        (folder / f"{name}-{paper}.pdf").write_bytes(pdf)
        pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
        print(f"{name}: {pages} pages on {paper}")
        if pages == 0 or pages_max < pages:
            problems.append(f"{name}: {pages} pages on {paper}, {pages_max} at most")
    return problems


def main():
    folder = pathlib.Path(sys.argv[1])
    browser, problems = Browser(), []
    try:
        for argument in sys.argv[2:]:
            file, pages_max = argument.rsplit("=", 1)
            path = pathlib.Path(file).resolve()
            view = View(browser, PHONE_PX, scripts=False)
            view.open(path.as_uri())
            width = view.evaluate("document.documentElement.scrollWidth")
            if PHONE_PX < width:
                problems.append(f"{path.stem}: scrolls sideways on a phone, {width} px wide")
            view.picture(folder / f"{path.stem}-phone.png")
            problems += [f"{path.stem}: {text}" for text in view.complaints("file:")]
            problems += printed(view, folder, path.stem, int(pages_max))
            for paper, (paper_in, _) in PAPERS.items():
                px = round((paper_in - 2 * MARGIN_IN) * PX_PER_IN)
                view.call("Emulation.setDeviceMetricsOverride", width=px, height=900, deviceScaleFactor=2, mobile=False)
                view.call("Emulation.setEmulatedMedia", media="print")
                view.picture(folder / f"{path.stem}-{paper}.png")
    finally:
        browser.close()
    print("\n".join(problems))
    sys.exit(1 if problems else 0)


main()
