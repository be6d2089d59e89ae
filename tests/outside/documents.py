"""Documents of `hitchwright document` read back by poppler (pdfinfo, pdffonts, pdftotext), for every trailer of the demo shop.

Independent: another program reads title, language of the tags, pages, fonts and words; figures are those of `hitchwright estimate --json`.
Prints a line for each document, then "N passed, N failed"; the exit code is 1 when one fails. The program is taken from the environment
variable HITCHWRIGHT.
"""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

PROGRAM = os.environ.get("HITCHWRIGHT", "target/debug/hitchwright")
DEMO = pathlib.Path("seed-data/demo")
KINDS = ["quote", "drawing", "calculation", "cutting"]
TITLES = {"drawing": "Drawing: ", "calculation": "Calculation: ", "cutting": "Cutting list: "}
# Words of the shop's own that no customer's document may hold.
SECRET = re.compile(r"\b(costs?|margins?|rates?|suppliers?|overheads?|markup|profit|hourly)\b", re.IGNORECASE)


def said(*command):
    return subprocess.run(command, capture_output=True, text=True, timeout=300, check=True).stdout


def words_of(language):
    """The one-line texts of a language's file."""
    lines = pathlib.Path(f"seed-data/words/{language}.ftl").read_text().splitlines()
    return dict(line.split(" = ", 1) for line in lines if re.match(r"[a-z][a-z0-9-]* = ", line))


def expected(kind, estimate, words):
    """Words and figures that the document must hold."""
    price = estimate["build_up"]["customer"]
    if kind == "quote":
        def number(value, decimals):
            marks = {",": words["group-mark"], ".": words["decimal-mark"]}
            return re.sub("[,.]", lambda mark: marks[mark[0]], f"{float(value):,.{decimals}f}")
        lines = [words[f"price-{line['word']}"] for line in price["lines"]] + [number(line["amount"], 2) for line in price["lines"]]
        gross = f"{number(estimate['weights']['gross_kg'], 0)} kg"
        return [gross, *lines, number(price["total"], 2), words["cautions-title"], words["caution-no-certification"]]
    if kind == "drawing":
        marks = [part["id"] for demand in estimate["take_off"]["bars"] + estimate["take_off"]["sheets"] for part in demand["parts"]]
        return [*marks, "Arrangement", "if printed at 100 %", "not a certification"]
    if kind == "calculation":
        checks = [check["name"] for check in estimate["checks"]]
        return [*checks, "Masses and centre of gravity", "What fails, and what was answered", "Signature"]
    marks = [part["id"] for demand in estimate["take_off"]["bars"] for part in demand["parts"]]
    return [*marks, "Kerf"]


def flat(text):
    return re.sub(r"\s+", " ", text)


def faults(kind, name, spec, folder):
    """What is wrong with a document; and its pages."""
    # A quote is in the customer's language, the other documents in the shop's.
    asked = json.loads(spec.read_text()).get("offer", {}).get("language") if kind == "quote" else None
    words = words_of((asked or "en").split("-")[0])
    out, again = folder / f"{name}-{kind}.pdf", folder / "again.pdf"
    for file in (out, again):
        said(PROGRAM, "document", kind, str(spec), "--preview", "--title", f"Trailer {name}", "--output", str(file))
    found = []
    if out.read_bytes() != again.read_bytes():
        found.append("two runs differ")
    info = dict(line.split(":", 1) for line in said("pdfinfo", str(out)).splitlines() if ":" in line)
    pages = int(info["Pages"])
    title = TITLES[kind] + f"Trailer {name}" if kind in TITLES else words["paper-title"].replace("{ $job }", f"Trailer {name}")
    if info.get("Title", "").strip() != title:
        found.append(f"title {info.get('Title')}")
    if info.get("Tagged", "").strip() != "yes":
        found.append("not tagged")
    if b"/Lang" not in out.read_bytes():
        found.append("no language")
    fonts = said("pdffonts", str(out)).splitlines()[2:]
    if not fonts or any(line.split()[-5:-2] != ["yes", "yes", "yes"] for line in fonts):
        found.append(f"fonts not embedded as subsets with their letters: {fonts}")
    sheets = [flat(sheet) for sheet in said("pdftotext", "-raw", str(out), "-").split("\f")[:pages]]
    for nth, sheet in enumerate(sheets, start=1):
        if words["paper-page"].replace("{ $page }", str(nth)).replace("{ $of }", str(pages)) not in sheet:
            found.append(f"no number on page {nth}")
        if len(sheet) < 60:
            found.append(f"page {nth} is empty")
    text = flat(" ".join(sheets))
    estimate = json.loads(said(PROGRAM, "estimate", str(spec), "--budget", "preview", "--json"))
    # A line may be broken anywhere: spaces do not count.
    tight = text.replace(" ", "")
    found += [f"“{said_so}” is missing" for said_so in expected(kind, estimate, words) if flat(said_so).replace(" ", "") not in tight]
    if kind == "quote" and (secret := SECRET.search(text)):
        found.append(f"the customer reads “{text[max(0, secret.start() - 40):secret.end() + 20]}”")
    return found, pages


def main():
    passed = failed = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for file in sorted(DEMO.glob("*.json")):
            spec = folder / "spec.json"
            spec.write_text(json.dumps(json.loads(file.read_text())["spec"]))
            for kind in KINDS:
                found, pages = faults(kind, file.stem, spec, folder)
                passed, failed = (passed, failed + 1) if found else (passed + 1, failed)
                print(f"{'FAIL' if found else 'PASS'} {file.stem} {kind}, {pages} pages{': ' if found else ''}{'; '.join(found[:6])}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
