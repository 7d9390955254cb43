"""Lists of records for spreadsheets: exported and imported.

    table          a list: its header and its rows, every cell a text
    exporting      a site → its lists: outlets, patch schedule, port map, findings
    materials      the equipment in place, counted by kind
    csv_file       a list as CSV (RFC 4180) and back to cells
    xlsx_file      a list as XLSX, the same bytes every time, and back to cells
    cells          what was read: cells that know their row and column, with all that is wrong
    columns        which column of a list is which field
    importing      cells and a site → what is new, changed, different; what is to be written
    results        cells and a site → certification results in our columns, each with its link
    switch_status  cells and a site → what switches report of their ports
    walk_round     a walk-round as a list to fill in, and the answers back

Nothing is guessed silently, and nothing here reads or writes a file.
"""
