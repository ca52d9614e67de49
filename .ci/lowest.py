"""The lowest versions that pyproject.toml allows of what the tool needs, as constraints of pip: ``name==version``."""

import re
import tomllib
from pathlib import Path

project = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
for requirement in project["dependencies"] + project["optional-dependencies"]["cluster"]:
    bound = re.fullmatch(r"([\w-]+)>=([\w.]+)(,.*)?", requirement)
    if bound is None:
        raise SystemExit(f"pyproject.toml states no lowest version: {requirement}")
    print(f"{bound[1]}=={bound[2]}")
