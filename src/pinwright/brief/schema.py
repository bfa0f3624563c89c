"""JSON Schema of the brief, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

__all__ = ["brief_schema"]


def brief_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a brief."""
    from pinwright.brief.model import Brief

    schema = Brief.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Pinwright brief"}
