"""How many commissions fit, and when each would be done.

The way through: `hours` says what one piece takes, `bench` walks hours through real days, `answer` adds
pieces up, widens the sum by what few records leave unknown, and puts it together.
"""
