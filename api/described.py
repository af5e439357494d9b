"""The interface's description of itself, as OpenAPI 3.1 has it."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

STREAM = {"type": "string", "description": "Server-sent events; the data of each is JSON."}


def keep_to_3_1(app: FastAPI) -> None:
    """Let the description of an app hold nothing that only later versions of OpenAPI know.

    The framework describes the items of a stream by a word of 3.2, which makes the whole
    document one that no reader of 3.1 has to take.
    """
    describe = app.openapi

    def described() -> dict[str, Any]:
        document = describe()
        for methods in document["paths"].values():
            for operation in methods.values():
                for answer in operation["responses"].values():
                    for media in answer.get("content", {}).values():
                        if media.pop("itemSchema", None) is not None:
                            media["schema"] = STREAM
        return document

    app.openapi = described  # type: ignore[method-assign]
