"""Checks the data package of a write-up with the `frictionless` library: descriptions, types, keys, references, sizes, hashes.

    check_package.py FOLDER

FOLDER holds `datapackage.json`. Prints the rows of each table and what is wrong, and ends with 1 where anything is.
"""

import json
import pathlib
import sys

import frictionless


def main(folder):
    path = pathlib.Path(folder) / "datapackage.json"
    described = json.loads(path.read_text(encoding="utf-8"))
    report = frictionless.Package(str(path)).validate()
    for task in report.tasks:
        print(f"{task.name}: {task.stats.get('rows', 0)} rows, {'ok' if task.valid else 'FAILED'}")
        for error in task.errors:
            print(f"  {error.type}: {error.message}")
    for error in report.errors:
        print(f"package: {error.type}: {error.message}")
    files = sorted(one.name for one in path.parent.iterdir() if one.suffix == ".csv")
    told = sorted(resource["path"] for resource in described["resources"])
    if files != told:
        print(f"files beside the description: {sorted(set(files) ^ set(told))}")
    is_good = report.valid and files == told and len(report.tasks) == len(described["resources"]) > 0
    print(f"{len(report.tasks)} tables, {'all as described' if is_good else 'NOT as described'}")
    return 0 if is_good else 1


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1]))
