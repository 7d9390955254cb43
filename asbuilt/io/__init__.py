"""The edge: the disk, git, Graphviz, processes and paper. Nothing else here meets the world."""
