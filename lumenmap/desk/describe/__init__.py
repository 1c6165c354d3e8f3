"""A house, its effects and its shows as the page needs them."""
