"""The demonstration: invented clients whose records have a history worth walking through.

story/      who did what when, and the record files: data, explained in its README.md
reading     the story as it is written, in order of time
edits       what a step does to a record file
storyboard  all of it replayed, as commits

Every name, place and number in it is made up. `python -m asbuilt.demo DIR` writes the last state.
"""
