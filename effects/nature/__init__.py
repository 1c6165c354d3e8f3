"""Effects after fire, weather and water."""
