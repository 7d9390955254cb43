"""“Could so many more drops go in, and at what price?”

bays       what an enclosure has for a new drop, and what a new drop asks for
rearrange  the smallest re-racking of one enclosure that makes room
ground     a site as far as it matters to the question: its bays, spaces, pathways
plan       how drops go in, as values; the site as it would stand
planner    what was laid on the ground → a plan
scarcity   what runs out first
doubts     what an answer counts on, and what the records leave open
answers    the question asked: three tiers, a verdict, what is left after
"""
