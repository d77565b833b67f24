"""Checks docs/record.schema.json: it takes every scenario, and agrees with the reader on the
structural cases that record_fields_test.cpp runs through the reader.

usage: record_schema_test.py SOURCE_FOLDER
"""
import json
import pathlib
import sys

import jsonschema
import yaml


def cases(text):
    for line in text.splitlines():
        if line and not line.startswith("#"):
            yield line.split("\t")


def main():
    source = pathlib.Path(sys.argv[1])
    schema = json.loads((source / "docs/record.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    faults = []
    rigs = sorted(source.glob("scenarios/*/rig.yaml"))
    for rig in rigs:
        for error in validator.iter_errors(yaml.safe_load(rig.read_text(encoding="utf-8"))):
            faults.append(f"{rig.parent.name}: {error.message}")
    small = (source / "tests/core/small_rig.yaml").read_text(encoding="utf-8")
    table = (source / "tests/core/structural_cases.tsv").read_text(encoding="utf-8")
    count = 0
    for verdict, old, new in cases(table):
        count += 1
        if old not in small:
            faults.append(f"small_rig.yaml does not hold: {old}")
            continue
        taken = validator.is_valid(yaml.safe_load(small.replace(old, new, 1)))
        if taken != (verdict == "take"):
            faults.append(f"expected to {verdict}: {old} -> {new}")
    print(f"{len(rigs)} scenarios, {count} cases, {len(faults)} faults", *faults, sep="\n")
    return 1 if faults or not rigs or count < 100 else 0


if __name__ == "__main__":
    sys.exit(main())
