"""The screens of the desk: each answers one question and offers what can be done about it."""
