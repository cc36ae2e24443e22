"""Judges TOML files by JSON Schemas with an independent validator.

Usage: schema_check.py FOLDER

FOLDER holds `<kind>.schema.json` for each kind and `list.json`, a list of
[kind, path] pairs. Prints a JSON list with, for each pair, the list of the
validator's messages (empty when the file is valid) or null when the file is
not TOML.
"""

import datetime
import json
import pathlib
import sys
import tomllib

from jsonschema import Draft202012Validator


def plain(value):
    """The value as JSON has it: dates and times become text."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    if isinstance(value, (datetime.date, datetime.time, datetime.datetime)):
        return value.isoformat()
    return value


def main():
    folder = pathlib.Path(sys.argv[1])
    validators = {}
    for path in sorted(folder.glob("*.schema.json")):
        schema = json.loads(path.read_text(encoding="utf-8"))
        Draft202012Validator.check_schema(schema)
        validators[path.name.split(".")[0]] = Draft202012Validator(schema)
    verdicts = []
    for kind, path in json.loads((folder / "list.json").read_text(encoding="utf-8")):
        try:
            value = tomllib.loads(pathlib.Path(path).read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError):
            verdicts.append(None)
            continue
        errors = validators[kind].iter_errors(plain(value))
        verdicts.append([error.message[:200] for error in errors])
    json.dump(verdicts, sys.stdout)


if __name__ == "__main__":
    main()
