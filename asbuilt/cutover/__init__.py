"""Two states of a site's records → the sheet of a cutover: what has to be ready, what touches no
live link, the outage window step by step, what is verified afterwards, what has to be bought.

    minutes       how long each task takes, as data
    plan          what a record is before and after the plan
    equipment     whether a mounted item comes, goes, moves or is swapped
    operations    tasks as operations: what each takes out of service and brings back
    tasks         the work on site, from what the plan changes
    sequence      the order of steps in which outlets are out of service for the least time in total
    window        the outage window: its steps, and who has no service at each
    materials     what has to be bought
    notices       what must be ready, whom to inform, what may hurt
    sheet         all of it, as one value
    sheet_output  the same as lines, rows and plain values
"""
