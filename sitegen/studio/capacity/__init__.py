"""How many commissions fit, and when each would be done.

The way through: `hours` says what one piece takes and adds pieces up, `total` widens the sum by what few
records leave unknown, `bench` walks hours through real days, `answer` puts it together.
"""
