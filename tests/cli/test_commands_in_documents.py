"""Commands that the documents show exist, with every option they show."""

import re
import shlex
from pathlib import Path

import pytest
import typer

from rillwright.cli.main import app

ROOT = Path(__file__).parents[2]
DOCUMENTS = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
COMMANDS = typer.main.get_command(app).commands
SHOWN = re.compile(r"(?:^(?:\.venv/bin/)?|`)rillwright ([a-z][^`\n]*)", re.MULTILINE)


def shown(document):
    """Each command shown, with its words, as a shell would part them; a comment ends it."""
    for found in SHOWN.finditer(document.read_text(encoding="utf-8")):
        yield shlex.split(found.group(1), comments=True)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_commands_and_options_that_a_document_shows_exist(document):
    for name, *words in shown(document):
        command = COMMANDS[name]
        if words and words[0] in getattr(command, "commands", {}):
            command = command.commands[words[0]]
        known = {option for parameter in command.params for option in parameter.opts + parameter.secondary_opts}
        asked = {word.partition("=")[0] for word in words if word.startswith("--")}
        assert asked <= known | {"--help"}, (name, words)


def test_every_command_is_shown_somewhere():
    named = {words[0] for document in DOCUMENTS for words in shown(document)}
    assert set(COMMANDS) - named == set()
