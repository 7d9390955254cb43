"""The diagrams, as DOT texts: the site, the patching of an enclosure, the path of an outlet."""

from asbuilt.drawings.diagram_of_patching import patching_dot
from asbuilt.drawings.diagram_of_path import outlet_dot
from asbuilt.drawings.diagram_of_site import site_dot

__all__ = ["outlet_dot", "patching_dot", "site_dot"]
