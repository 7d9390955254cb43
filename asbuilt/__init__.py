"""asbuilt: records of structured cabling, compiled from YAML in git into a documentation site.

The pipeline, one way, from the top of this list to its bottom; a module imports only from above.
To see it at work, start reading at publish/build.py.

    problem, escape, yamltext   what is wrong, as a value; text made safe; text → nodes with places
    records                     nodes → typed records of one site; the edition; the JSON Schema
    model                       records → one immutable Site; its paths; how a thing is described
    trade, facts, checks        the trade's arithmetic; Site → answers; Site → findings
    growth                      is there room for so many more drops, and how
    changes, cutover            two states of the records → changes in words; the sheet of a cutover
    edits, lists                moves, adds and changes; spreadsheets → record files edited in place
    drawings, labels, pages     Site and facts → SVG and DOT; labels; a plain tree of pages
    io, history                 the edge: disk, git, Graphviz; what the commits of a site changed
    publish                     a records repository → published sites: start at build.py
    demo, start                 the demonstration; what a new repository begins with
    commands, cli               what one can ask for, a module a matter
"""

__version__ = "0.1.0"
