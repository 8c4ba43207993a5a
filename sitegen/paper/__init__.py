"""Paper: sign-up sheets, table cards, certificates and agreements as PDF.

The way through: public view → plain content (`sheet`, `cards`, `lists`, `agreement`) → `press.Printer`, which
hands the content as JSON to the theme's Typst template and returns the PDF's bytes.
"""
