"""Moves, adds and changes: a site's texts and a request → its new texts, edited in place.

    written    a value as YAML text, quoted where a reader would take it for something else
    wishes     what is to become of the records, as values
    whereabouts  where each record stands in its file
    splicing   wishes → the text of one file, cut and joined where they concern it
    editing    wishes → the texts of the whole site, held against what was wished for
    numbering  the next free ports, labels and keys
    outlets, patching, mounting, work    requests in the trade's words → wishes
    names      references that follow when a thing is called otherwise
    verdict    whether the site is still sound afterwards

Nothing here reads or writes a file.
"""
