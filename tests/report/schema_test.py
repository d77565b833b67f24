"""Does every JSON answer keep to docs/output.schema.json, and can the schema refuse?

usage: schema_test.py SCHEMA sample PRINT_SAMPLE COMMAND | real FIRSTGLOW RECORD COMMAND...
"""

import json
import subprocess
import sys

import jsonschema


def refuse_constant(word):
    raise ValueError(f"{word} is no JSON number")


def numbers(value):
    if isinstance(value, dict):
        for item in value.values():
            yield from numbers(item)
    elif isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float):
        yield value


def main():
    schema_file, way, program, *rest = sys.argv[1:]
    with open(schema_file, encoding="ascii") as stream:
        schema = json.load(stream)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    if way == "sample":
        command = [program, rest[0], "json"]
    else:
        command = [program, rest[1], rest[0], "--json", *rest[2:]]
    done = subprocess.run(command, capture_output=True, check=False)
    if done.returncode not in (0, 1, 4):
        sys.exit(f"{command} ended with {done.returncode}: {done.stderr.decode()}")
    answer = json.loads(done.stdout.decode("ascii"), parse_constant=refuse_constant)
    errors = [f"{list(error.absolute_path)}: {error.message[:300]}"
              for error in validator.iter_errors(answer)]
    if errors:
        of_command = schema["$defs"][answer["command"]]
        narrow = jsonschema.Draft202012Validator({**of_command, "$defs": schema["$defs"]})
        sys.exit("\n".join(f"{list(e.absolute_path)}: {e.message[:300]}"
                           for e in narrow.iter_errors(answer)))
    # The test can fail: an unknown key, a lost key and a wrong word are refused.
    for spoilt in ({**answer, "extra": 1}, {**answer, "verdict": "fine"},
                   {key: answer[key] for key in answer if key != "cautions"}):
        if not list(validator.iter_errors(spoilt)):
            sys.exit("the schema takes a spoilt answer")
    print(f"{command[1:]}: {len(list(numbers(answer)))} numbers, verdict {answer['verdict']}")


if __name__ == "__main__":
    main()
