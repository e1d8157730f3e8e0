"""Objects for programs, held against the schema of what is promised of them by a library of its own."""

from __future__ import annotations

from typing import Any

import jsonschema


def breaches(found: Any, schema: dict[str, Any]) -> list[str]:
    """Return in which ways an object is not as a schema has it; the schema itself has to be a good one."""
    jsonschema.Draft202012Validator.check_schema(schema)
    return [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(found)]
