"""JSON Schema of the brief, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

__all__ = ["brief_schema"]


def brief_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a brief.

    >>> brief_schema()["title"]
    'Pinwright brief'
    """
    from pinwright.brief.model import Brief

    schema = _without_null(Brief.model_json_schema(by_alias=True))
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Pinwright brief"}


def _without_null(node: Any) -> Any:
    """TOML has no null: a key that may be missing has its plain type, and no default of nothing."""
    if isinstance(node, list):
        return [_without_null(item) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)}
    kinds = made.get("anyOf")
    if isinstance(kinds, list) and {"type": "null"} in kinds:
        kinds = [kind for kind in kinds if kind != {"type": "null"}]
        del made["anyOf"]
        made = {**kinds[0], **made} if len(kinds) == 1 else {"anyOf": kinds, **made}
    return made
