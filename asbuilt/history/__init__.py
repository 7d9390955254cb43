"""A site's history: every commit that altered what its records mean, told as changes.

    lineage      one listing of all commits → the steps of one site, also from when its folder had
                 another name
    walk         the site's state before and after each step; only files that changed are read
    telling      compare → changes, in words: an entry; none for a step that altered only the layout
    kept         a history folded together, and kept between two runs
    chronicles   the histories of many sites: what is kept of each, and what came since
    moment       a site as it stood at one revision
    withholding  what the client may not know of any revision

A commit never changes, and with it neither does what is told of it: what was told once is kept,
by commit, and only new commits are walked. Kept histories are checked before they are believed,
and told anew where anything is wrong with them. As they are kept they take little room and little
time: of a fleet's histories only those are unfolded that pages are made from, each where its pages
are made.
"""
