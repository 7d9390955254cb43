"""The diagrams: of the site and of the patching of an enclosure as DOT texts, of the path of an
outlet as a graph, many of which are alike."""

from asbuilt.drawings.diagram_of_patching import patching_dot
from asbuilt.drawings.diagram_of_path import outlet_graph
from asbuilt.drawings.diagram_of_site import site_dot

__all__ = ["outlet_graph", "patching_dot", "site_dot"]
