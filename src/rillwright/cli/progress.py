"""Progress of a long job on the terminal."""

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import Progress as Bar
from rich.progress import SpinnerColumn, TextColumn, TimeElapsedColumn

from rillwright.jobs.progress import Progress
from rillwright.jobs.stop import Stop

__all__ = ["shown_progress"]


@contextmanager
def shown_progress(stop: Stop | None = None) -> Iterator[Progress]:
    """Show the stage and the time gone by on the error stream while a job runs; nothing stays when it ends."""
    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading the yard")

        def tell(stage: str, share: float) -> None:
            if stop is not None and stop.broken_off:
                raise KeyboardInterrupt
            bar.update(task, description=f"{stage} ({100 * share:.0f} %)" if share > 0 else stage)

        yield tell
