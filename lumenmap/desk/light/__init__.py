"""Light under the hand: rendered from the playhead on, for the browsers and for the house."""
