from __future__ import annotations

from pathlib import Path

import pytest

from tests.server.world import World, make_folder


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(make_folder(tmp_path / "trees"))
