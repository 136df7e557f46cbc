"""Colors read off a photo with a card in it."""
