"""Colors read off a photo with a reference card."""
