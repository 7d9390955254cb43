"""asbuilt: records of structured cabling, compiled from YAML in git into a documentation site.

The pipeline, one way, from the top of this list to its bottom; a module imports only from above:

    problem, escape, yamltext   what is wrong, as a value; text made safe; text → nodes with places
    records                     nodes → typed records of one site; the edition; the JSON Schema
    site, paths                 records → one immutable Site; what is connected to what
    trade                       the trade's arithmetic, each formula with its source
    facts                       Site → headroom and other answers
    checks                      Site → findings with file and line
    growth                      could so many more drops go in, and at what price
    changes                     two states of the records → changes as values; their words
    cutover                     two states → what is done before, in and after an outage
    moves, lists                what was asked for, what spreadsheets say → files edited in place
    drawings                    Site and facts → SVG and DOT; pictures and photos made fit
    labels                      what stands on labels; sheets of them at true size, SVG and PDF
    pages                       all of it → a plain tree of pages
    files, journal, repo, dot   the edge: disk, several files as one, git, Graphviz
    paper                       pages set as PDF
    manifest, pack, workers     what a published folder holds, to the byte; it as one file to keep;
                                processes side by side
    compiled                    templates as they were compiled, kept between two runs
    volume, ledger, fleet       what is handed to a publisher; what was made from what; many sites
    history, intake, binding    what changed, told; a site's folder read; both bound into a book
    build                       the story from top to bottom
    demo, start                 the demonstration; what a new folder begins with
    reports, tellings           problems as lines; changes as lines
    commands                    what one can ask for, a module a matter
    cli, plugin                 front doors: the command as a whole, and mkdocs
"""

__version__ = "0.1.0"
