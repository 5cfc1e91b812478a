"""Writing into a field log: what is asked first, what is kept, and what it changed."""

import os
import sys
import uuid
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import typer

from rillwright.cli.typed_entry import made_entry, new_entry, typed_time, typed_what
from rillwright.errors import InputError
from rillwright.exchange.log_file import append_entries, read_log
from rillwright.jobs.answers.effect import effect_of
from rillwright.jobs.asked import Known, questions_on
from rillwright.model.catalogue import load_catalogue
from rillwright.model.field_log import Entry, standing
from rillwright.model.plan import Plan
from rillwright.physics.units import System
from rillwright.report.entry_words import entry_kind, entry_words

__all__ = ["corrected", "keep_photos", "write_down"]

LARGEST_PHOTO = 20_000_000  # [bytes] as in the page
_PHOTOS = {".jpg", ".jpeg", ".png", ".webp"}


def write_down(
    log: Path,
    entry: Entry,
    *,
    plan: Plan | None,
    system: System | None,
    sure: bool,
    charts: Path | None,
    photos: Sequence[Path],
) -> None:
    """Ask what can hardly be, keep the entry, say so, and say what it changed in the plan.

    Parameters: photos, kept once all is answered and before the entry that names them. Errors: InputError with what is
    asked, where nobody can answer; those of keep_photos.
    """
    catalogue = load_catalogue(charts=charts)
    yard = None if plan is None else plan.yard
    others = standing(read_log(log)[0] if log.exists() else [])
    entry = _confirmed(entry, Known(catalogue, yard, plan, datetime.now(UTC), log=others), sure=sure)
    told = append_entries(log, [keep_photos(log, entry, photos)])
    if told:
        typer.echo(told, err=True)
    typer.echo(f"Kept {str(entry.id)[:8]}: {_line(entry, system or 'metric')}")
    if entry.confirmed:
        typer.echo(f"Marked as confirmed: {', '.join(entry.confirmed)}.")
    if plan is None:
        typer.echo("Give --plan to be asked what can hardly be and to hear what it changes.")
        return
    for line in effect_of(entry.id, plan, read_log(log)[0], catalogue).words(plan):
        typer.echo(f"  {line}")


def _confirmed(entry: Entry, known: Known, *, sure: bool) -> Entry:
    """The entry with what was asked of it and confirmed. Errors: InputError."""
    asked = questions_on(entry, known)
    lines = [f"{question.figure}: {question.why}. {question.do}" for question in asked]
    if asked and not sure:
        if not sys.stdin.isatty():
            more = "\n".join(f"  {line}" for line in lines)
            raise InputError(f"not kept, for this can hardly be:\n{more}\nPut it right, or add --sure if it is so.")
        for line in lines:
            if not typer.confirm(f"{line} Is it so?"):
                raise InputError("not kept: put it right and write it down again.")
    return entry.model_copy(update={"confirmed": [*entry.confirmed, *(question.rule for question in asked)]})


def _line(entry: Entry, system: System) -> str:
    what = entry_words(entry, system)
    return f"{entry_kind(entry)}{', ' + what if what else ''}{', withdrawn' if entry.withdraws else ''}"


def corrected(
    entries: Sequence[Entry],
    beginning: str,
    fields: Sequence[str],
    *,
    words: str | None,
    made: str,
    photos: bool,
    withdraw: bool,
    system: System | None,
) -> Entry:
    """A correction of the entry whose id begins so.

    Parameters: made, the day or time at which it was so; photos, whether some are added. Errors: InputError when none
    or several begin so, or nothing is put right.
    """
    firsts = [entry for entry in entries if entry.corrects is None]
    found = [entry for entry in firsts if str(entry.id).startswith(beginning.lower())]
    if len(found) != 1:
        many = ", ".join(str(entry.id)[:13] for entry in found[:4])
        raise InputError(
            f"{'several entries begin' if found else 'no first entry begins'} with '{beginning}'. {many}".strip()
        )
    if not (fields or withdraw or made or photos or words is not None):
        raise InputError("say what is right: FIELD=VALUE, --words, --made, --photo, or --withdraw")
    first = found[0]
    now = next((e for e in standing(entries) if first.id in (e.id, e.corrects)), first)
    units: System = system or "metric"
    before = now.what.model_dump(mode="json", context={"units": units})
    what = typed_what(entry_kind(now), fields, system=system, before=before)
    given = new_entry(what, words=now.words if words is None else words, at="", made="")
    when = typed_time(made) if made else now.made if now.made != first.made else None
    more = {"when": when, "at": now.at, "photos": now.photos, "corrects": first.id, "withdraws": withdraw}
    return made_entry(given, system=units).model_copy(update=more)


def keep_photos(log: Path, entry: Entry, photos: Sequence[Path]) -> Entry:
    """Copy photos beside the log, on the disk before the entry that names them. Errors: InputError."""
    ids = []
    for photo in photos:
        if photo.suffix.lower() not in _PHOTOS:
            raise InputError(f"{photo} is no photo: give JPEG, PNG or WebP.")
        folder = log.with_name(log.name + ".photos")
        try:
            data = photo.read_bytes()
            if len(data) > LARGEST_PHOTO:
                raise InputError(f"{photo} has over {LARGEST_PHOTO // 10**6} MB: make it smaller.")
            folder.mkdir(exist_ok=True)
            ids.append(uuid.uuid4())
            with (folder / f"{ids[-1]}{photo.suffix.lower()}").open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise InputError(f"{photo} cannot be kept in {folder}: {error.strerror}.") from None
    return entry.model_copy(update={"photos": [*entry.photos, *ids]})
