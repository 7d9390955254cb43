"""What is wrong with a site as a whole: rules of the trade, one family of them a file.

A file's docstring is its manual: what it looks at, why, and by which source. An error says that
the site can't honestly be built from its records (a port used twice, a unit that isn't there); a
remark wants somebody's eyes. Every code has its line in `codes`. A new family is a new file and
one line in CHECKS.
"""
