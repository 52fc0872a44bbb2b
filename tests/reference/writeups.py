"""Holds the data packages of write-ups against tools that are not ours: `writeups.py PROGRAM`.

Fills a notebook with the demo, writes up its jobs, several of them together and the answer to a question, and for each package: the
`frictionless` library validates it, and its results are recomputed from it alone with numpy and scipy. One file is then changed on
purpose, which both have to notice. Prints its checks as test runners do.
"""

import csv
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
PROGRAM = pathlib.Path(sys.argv[1]).resolve()

ASKED = {
    "J1": ["J1"], "J2": ["J2"], "J3": ["J3"], "J4": ["J4"], "J5": ["J5"], "J6": ["J6"], "J7": ["J7"], "J8": ["J8"],
    "several": ["J2", "J3", "J4", "J5", "--title", "Four walls"],
    "answer": ["--question", "cellulose or glass fibre"],
}
# Packages that hold sets whose numbers are known from elsewhere.
KNOWN = {"J1", "J2", "J3", "J4", "J5", "several"}

checks = []


def check(name, passed, said=""):
    checks.append(passed)
    print(f"test {name} ... {'ok' if passed else 'FAILED'}{'' if passed else chr(10) + said}")


def run(script, *words):
    return subprocess.run([sys.executable, str(HERE / script), *map(str, words)], capture_output=True, text=True)


def spoil(folder):
    """One reading a decibel off: no longer what the hashes and the results say."""
    path = folder / "readings.csv"
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    column = rows[0].index("value")
    role = rows[0].index("role")
    row = next(row for row in rows[1:] if row[role] == "receive")
    row[column] = str(float(row[column]) + 1)
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\r\n").writerows(rows)


def main():
    with tempfile.TemporaryDirectory() as place:
        place = pathlib.Path(place)
        program = [str(PROGRAM), "--data", str(place / "notebook")]
        subprocess.run([*program, "init", "--demo"], check=True, capture_output=True)
        for name, words in ASKED.items():
            out = ["--formats", "data", "--unrecorded", "--out", str(place / name)]
            subprocess.run([*program, "writeup", *words, *out], check=True, capture_output=True)
            folder = next((place / name).iterdir()) / "data"
            validated = run("check_package.py", folder)
            check(f"package of {name} is valid", validated.returncode == 0, validated.stdout + validated.stderr)
            known = ["--expect", HERE / "demo_findings.json"] if name in KNOWN else []
            recomputed = run("recompute_writeup.py", folder, *known)
            said = recomputed.stdout.strip().splitlines()
            print(f"  {said[-1] if said else 'nothing said'}")
            check(f"results of {name} follow from its package", recomputed.returncode == 0, recomputed.stdout + recomputed.stderr)
        folder = next((place / "J2").iterdir()) / "data"
        spoil(folder)
        check("a changed file is noticed by its hash", run("check_package.py", folder).returncode == 1)
        check("a changed reading is noticed by the results", run("recompute_writeup.py", folder).returncode == 1)
    failed = checks.count(False)
    word = "FAILED" if failed else "ok"
    print(f"\ntest result: {word}. {checks.count(True)} passed; {failed} failed; 0 ignored; 0 measured; 0 filtered out")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
