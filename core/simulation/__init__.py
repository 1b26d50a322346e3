"""A day, a week or a season in time: what stores heat, what switches, and what comes of it.

What each word means in time stands in the plant file's contract, 'In time'. `runs` chooses what is run,
`layout` finds what stores heat, `engine` goes through it, `observer` watches, `summary` tells.
"""
