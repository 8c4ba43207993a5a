"""Domains at which many people have their mail: a sign-up that nearly names one is likely a slip of the pen.

No source ranks them for collectors of dolls; these are in wide use (common practice, no source). Others
are learnt from the list itself.
"""

WELL_KNOWN = frozenset(
    {
        "aol.com", "att.net", "bigpond.com", "bluewin.ch", "btinternet.com", "comcast.net",
        "email.com", "fastmail.com", "free.fr", "gmail.com", "gmx.at", "gmx.ch", "gmx.com",
        "gmx.de", "gmx.net", "googlemail.com", "hotmail.co.uk", "hotmail.com", "hotmail.de",
        "hotmail.fr", "hotmail.it", "icloud.com", "laposte.net", "libero.it", "live.co.uk",
        "live.com", "mac.com", "mail.com", "mailbox.org", "me.com", "msn.com", "orange.fr",
        "outlook.com", "outlook.de", "outlook.fr", "posteo.de", "proton.me", "protonmail.com",
        "rocketmail.com", "sbcglobal.net", "seznam.cz", "sky.com", "t-online.de", "telenet.be",
        "tiscali.it", "verizon.net", "virgilio.it", "wanadoo.fr", "web.de", "yahoo.ca",
        "yahoo.co.jp", "yahoo.co.uk", "yahoo.com", "yahoo.com.au", "yahoo.de", "yahoo.fr",
        "yahoo.it", "ymail.com", "ziggo.nl",
    }
)  # fmt: skip
