"""Draw examples/shed.dxf: an invented back yard with a shed, in feet. Run it to make the file again."""

from pathlib import Path

import ezdxf
from ezdxf.document import Drawing

OUTLINES = {
    # layer: closed outlines, each point x, y, bulge (tangent of a quarter of the arc's angle)
    "LAWN": [
        [(0, 0, 0), (58, 0, 0), (66, 8, 0), (66, 44, 0.25), (40, 62, 0), (0, 62, 0)],
    ],
    "BUILDING": [
        [(14, -30, 0), (52, -30, 0), (52, 0, 0), (14, 0, 0)],
        [(0, 48, 0), (14, 48, 0), (14, 62, 0), (0, 62, 0)],
    ],
    "PAVING": [
        [(24, 0, 0), (42, 0, 0), (42, 12, 0.4), (24, 12, 0)],
        [(6, 0, 0), (10, 0, 0), (10, 48, 0), (6, 48, 0)],
    ],
    "BED": [
        [(0, 0, 0), (6, 0, 0), (6, 48, 0), (0, 48, 0)],
    ],
}
ISLAND = ((34, 38), 5)
TREE = ((52, 26), 7)
SPOTS = [(0, 0, 10.0), (58, 0, 10.2), (66, 8, 10.1), (66, 44, 8.9), (40, 62, 8.2), (0, 62, 8.4), (30, 30, 9.3)]
ENTRY = (20, 0)


def draw() -> Drawing:
    """Draw the yard."""
    ezdxf.options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new("R2000", units=ezdxf.units.FT)
    space = document.modelspace()
    for layer, outlines in OUTLINES.items():
        for points in outlines:
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
    space.add_circle(*ISLAND, dxfattribs={"layer": "BED"})
    space.add_circle(*TREE, dxfattribs={"layer": "TREE"})
    for spot in SPOTS:
        space.add_point(spot, dxfattribs={"layer": "SPOT"})
    space.add_point(ENTRY, dxfattribs={"layer": "ENTRY"})
    return document


if __name__ == "__main__":
    draw().saveas(Path(__file__).with_name("shed.dxf"))
