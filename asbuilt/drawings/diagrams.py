"""The diagrams: of the site and of the patching of an enclosure as DOT texts, of the path of an
outlet as a graph, many of which are alike."""

from asbuilt.drawings.patching_diagram import patching_dot
from asbuilt.drawings.path_diagram import outlet_graph
from asbuilt.drawings.site_diagram import site_dot

__all__ = ["outlet_graph", "patching_dot", "site_dot"]
