"""The examples, drafted once for all checks that read drawings."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pytest
from common import EXAMPLES, draft


@dataclass(frozen=True)
class Drawn:
    """One style in one size with its files."""

    name: str
    json: dict
    dxf: Path
    svg: Path


@pytest.fixture(scope="session", params=EXAMPLES, ids=lambda path: path.stem)
def drawn(request, tmp_path_factory) -> list[Drawn]:
    """Every style of one example in its base size and in every named size."""
    found = []
    for arguments in ([], ["--size", "all"]):
        files = draft(request.param, tmp_path_factory.mktemp(request.param.stem), "json,dxf,svg", *arguments)
        for name, path in files.items():
            if name.endswith(".json"):
                content = json.loads(path.read_text("utf-8"))
                # A fitting is measured and never drawn.
                if not content["pieces"]:
                    assert not path.with_suffix(".dxf").exists() and not path.with_suffix(".svg").exists()
                    continue
                found.append(Drawn(path.stem, content, path.with_suffix(".dxf"), path.with_suffix(".svg")))
    assert found
    return found
