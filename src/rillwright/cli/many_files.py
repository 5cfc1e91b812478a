"""The `plan-many` command: files read first, plans written as they come, one table at the end."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from rillwright.cli.progress import shown_progress
from rillwright.cli.summary import YardLine, print_yards
from rillwright.errors import InputError, RillwrightError
from rillwright.exchange import load_yard
from rillwright.jobs.many import plan_many
from rillwright.jobs.workers import cluster, process_pool
from rillwright.jobs.write import check_folder, write_plan
from rillwright.model.parts import Catalogue
from rillwright.model.site import Yard

__all__ = ["plan_files"]


def plan_files(
    files: Sequence[Path], catalogue: Catalogue, *, out: Path, force: bool, scheduler: str | None, seed: int
) -> set[str]:
    """Plan every file into a folder of its own and print the table; returns the ways in which they ended.

    A file that cannot be read or planned is named in the table, and stops no other.
    Errors: InputError when two files would share a folder, or a folder may not be written.
    """
    folders = _folders(files, out, force=force)
    lines: dict[Path, YardLine] = {}
    good: list[tuple[Path, Yard]] = []
    for file in files:
        try:
            good.append((file, load_yard(file)))
        except RillwrightError as error:
            lines[file] = YardLine(file.name, None, str(error))
    with cluster(scheduler) if scheduler else process_pool() as executor, shown_progress() as progress:
        for outcome in plan_many([yard for _, yard in good], catalogue, seed=seed, executor=executor):
            file = good[outcome.number][0]
            if outcome.plan is not None:
                write_plan(outcome.plan, catalogue, folders[file], force=force)
            lines[file] = YardLine(file.name, outcome.plan, outcome.error)
            progress(f"{len(lines)} of {len(files)} yards done", 0.0)
    print_yards([lines[file] for file in files])
    return {line.end for line in lines.values()}


def _folders(files: Sequence[Path], out: Path, *, force: bool) -> dict[Path, Path]:
    names = {file: file.name.removesuffix(".json").removesuffix(".geojson").removesuffix(".yard") for file in files}
    for name, count in Counter(names.values()).items():
        if count > 1:
            raise InputError(f"{count} of the files would be planned into {out / name}: give each a name of its own")
    folders = {file: out / name for file, name in names.items()}
    for folder in folders.values():
        check_folder(folder, force=force)
    return folders
