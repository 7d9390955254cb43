"""A site's history: every commit that altered what its records mean, as changes.

    commits      one listing of all commits → the commits of one site, also from when its folder had
                 another name
    replay       the site's state before and after each commit; only files that changed are read
    entries      compare → changes, in words: an entry; none for a commit that altered only layout
    packed       a history as compact text, and how it is kept between two runs
    read         the histories of many sites: what is kept of each, and what came since
    at_revision  a site as it stood at one revision
    withheld     what the client may not know of any revision

A commit never changes, so its entry is kept and only new commits are read. Kept histories are
checked before they are used, and read again from git where anything is wrong with them. Packed they
are small: of many sites only those histories are loaded that pages are made from.
"""
