"""Questions answered: one module each, for the command line and for the pages.

A module takes values that are already read (a weather series, a wood, places, dates)
and returns an `Answered`: what to say, in JSON and in words, what was found, and how
its picture is drawn. Nothing here knows of a terminal or of a page.
"""
