"""Letters: who gets one, what it says, how it's posted, what came back."""
