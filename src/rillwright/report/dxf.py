"""DXF drawings out: in true units, and the same bytes for the same drawing."""

import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import new

__all__ = ["dxf_bytes", "new_drawing"]

_IMPERIAL = (InsertUnits.Inches, InsertUnits.Feet)
_WRITING = threading.Lock()  # the library's options are the whole process's


def new_drawing(unit: InsertUnits) -> Drawing:
    """An empty drawing in a unit, with the usual types of lines, texts and dimensions."""
    with _no_clock():
        drawing = new("R2010", setup=True)
    drawing.units = unit
    drawing.header["$MEASUREMENT"] = int(unit not in _IMPERIAL)
    drawing.header["$LUNITS"] = 2  # decimal
    return drawing


def dxf_bytes(drawing: Drawing) -> bytes:
    """The drawing as a file that carries no clock and no name of its own."""
    for name in sorted(drawing.entitydb.dxf_types_in_use()):  # a set: the library would list it in any order
        drawing.classes.add_class(name)
    out = io.StringIO()
    with _no_clock():
        drawing.write(out)
    return out.getvalue().encode(drawing.output_encoding)


@contextmanager
def _no_clock() -> Iterator[None]:
    with _WRITING:
        kept = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = kept
