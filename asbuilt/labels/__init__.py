"""Labels at true size. Everything is in millimetres.

    texts    a site → what is on the labels of its panels, faceplates, cable ends, enclosures
    sheet    how labels lie on a sheet: page, margins, columns, rows, gaps
    codes    a page's address → the dark modules of its QR code
    wraps    how much of a self-laminating label goes around a cable
    layout   a label in its place → marks: text, filled areas, lines
    strips   a panel's ports → strips of cells at their true distance, as marks
    svg      marks → one SVG a sheet
    pdf      marks → one PDF of all sheets

Nothing here reads or writes a file, save that the library behind `pdf` opens a font it is told of.
"""
