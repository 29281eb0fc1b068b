"""The live pipeline: microphone → utterances → hearing → session → voice, in time to be answered at the bench.

`pipeline` is the loop; `ahead`, `early`, `mouth`, `watch`, `timing`, `gauge` and `advice` are its parts. None of them
opens a device: what they need of one stands in `parts` as Protocols.
"""
