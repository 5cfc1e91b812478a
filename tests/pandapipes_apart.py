"""pandapipes without its plotting: on import it swaps matplotlib's drawing context for one of its own.

The original is put back here, so that tests of drawings run in the same process.
"""

from matplotlib.backend_bases import RendererBase

_own = RendererBase.new_gc

import pandapipes  # noqa: E402
from pandapipes.component_models.component_toolbox import p_correction_height_air  # noqa: E402

RendererBase.new_gc = _own

__all__ = ["p_correction_height_air", "pandapipes"]
