"""The demonstration: invented clients whose records have a history worth walking through.

scene       what a storyboard is made of: who, when, and small edits of texts
floors      invented floors to scale: plans, positions, plausible lengths
pictures    line drawings where a real job would have photographs
drops       runs of outlets, cords and test results as they are typed
practice    a small practice, half documented as found
firm        an architects' office on two floors, grown twice, nearly full
campus      a college of three buildings with room to grow
storyboard  all of it in order of time, as commits

Every name, place and number in it is made up. `python -m asbuilt.demo DIR` writes the last state.
"""
