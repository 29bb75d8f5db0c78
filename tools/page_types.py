#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Makes web/src/api/generated.ts, the operations and their arguments as the page's TypeScript knows them.

Standard input: the reply of `operations`. Standard output: the file. Called by tools/generate.sh.
"""
import json
import re
import sys

HEAD = """\
// The operations of the program and their arguments. Made by tools/page_types.py from the reply of `operations`; change
// src/app/operations.cpp, not this file.

export type Told = string | number;

export interface OperationArguments {
"""
KINDS = {
    "positional": "Told",
    "option": "Told",
    "rest": "Told | readonly Told[]",
    "list": "Told | readonly Told[]",
    "flag": "boolean",
}


def key(name):
    return name if re.fullmatch(r"[A-Za-z_]\w*", name) else f"'{name}'"


def comment(text):
    return "/** " + text.replace("*/", "* /") + " */"


def types_of(operations):
    text = HEAD
    for operation in operations:
        text += f"  {comment(operation['summary'])}\n  {key(operation['name'])}: {{\n"
        for field in operation["fields"]:
            text += f"    {comment(field['help'])}\n    {key(field['name'])}?: {KINDS[field['kind']]};\n"
        text += "  };\n"
    return text + "}\n\nexport type OperationName = keyof OperationArguments;\n"


if __name__ == "__main__":
    sys.stdout.write(types_of(json.load(sys.stdin)["result"]["operations"]))
