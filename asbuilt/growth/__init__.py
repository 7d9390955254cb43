"""Room for growth: could so many more drops go in, and what does it take?

enclosure_capacity  what an enclosure has for a new drop, and what a new drop needs
rearrange           the smallest re-racking of one enclosure that makes room
allocation          new drops allocated to enclosures: within spaces, pathways and supplies
plan                how drops go in, as values; the site as it would stand
planner             an allocation → a plan
bottleneck          the resource that is the limit
assumptions         what an answer takes for granted, and what the records leave open
answers             the question and its answer in three tiers; what room is left after that
"""
