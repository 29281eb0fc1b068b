"""Sound devices: which there are, streams that come back by themselves, and where a sound server leads them."""
