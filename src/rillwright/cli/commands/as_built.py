"""`rillwright as-built`: what lies in the ground, to be found again."""

from pathlib import Path
from typing import Annotated

import typer

from rillwright.cli.options import PlanFile

__all__ = ["as_built"]


def as_built(
    plan: PlanFile,
    log: Annotated[Path, typer.Option(help="Field log: JSON lines, one entry a line")],
    out: Annotated[Path, typer.Option(help="Folder for the record")] = Path("as-built"),
    force: Annotated[bool, typer.Option("--force", help="Replace a record already in the folder")] = False,
) -> None:
    """Draw what lies in the ground, from plan and log: every buried part with two taped offsets, depths, photos."""
    from rillwright.cli.guide_told import print_as_built
    from rillwright.exchange.log_file import load_log
    from rillwright.jobs.as_built import AS_BUILT_FILES, as_built_files, make_as_built
    from rillwright.jobs.write import check_folder, read_plan, write_files

    check_folder(out, force=force, names=AS_BUILT_FILES)
    document = read_plan(plan)
    record = make_as_built(document, load_log(log))
    files = write_files(as_built_files(record, document), out, force=force, names=AS_BUILT_FILES)
    print_as_built(record, document, files)
