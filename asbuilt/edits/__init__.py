"""Moves, adds and changes: a site's texts and a request → its new texts, edited in place.

    yaml_values  a value as YAML text, quoted where a reader would take it for something else
    requests     what is to become of the records, as values
    positions    where each record stands in its file
    file_editor  requests → the new text of one file; every other line keeps its bytes
    apply        requests → the texts of the whole site, compared with what was asked for
    numbering    the next free ports, labels and keys
    references   references that follow when a record gets another key
    review       whether the site is still sound afterwards
    outlets, patching, mounting, jobs    the trade's own edits → requests

Nothing here reads or writes a file.
"""
