"""Two states of a site's records → the sheet of a cutover: what has to be ready, what touches no
live link, the outage window step by step, what is verified afterwards, what has to be bought.

minutes      how long each task takes, as data
order        steps → the order in which outlets are dark for the least time together
pairs        what a thing is before and after the plan
tasks        what has to be done, and what each step of the window takes away and brings back
materials    what has to be bought
notes        what must be ready, whom to tell, what may hurt
sheet        all of it, as one value
listing      the same as lines, rows and plain values
"""
