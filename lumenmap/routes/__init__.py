"""Ways along the roofline, as a house file and a show file write them."""
