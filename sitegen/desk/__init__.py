"""Private answers for the artist: worth, slots, plans, draws, the queue and the books.

Every module takes the studio as read, and a day where one matters, and gives back a plain value with
`lines()` for the terminal and `as_answer()` for machines. Nothing here writes a file, and nothing of it
belongs on the site.
"""
