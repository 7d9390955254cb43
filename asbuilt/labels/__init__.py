"""Labels at true size. Everything is in millimetres.

    texts     a site → what is on the labels of its panels, faceplates, cable ends, enclosures
    sheet     how labels lie on a sheet: page, margins, columns, rows, gaps
    qr_codes  a page's address → the dark modules of its QR code
    wraps     how much of a self-laminating label goes around a cable
    layout    a label in its place → printed elements: text, filled areas, lines
    strips    a panel's ports → strips of cells at their true pitch
    svg       printed elements → one SVG a sheet
    pdf       printed elements → one PDF of all sheets

Nothing here reads or writes a file, but for the font that the library behind `pdf` opens.
"""
