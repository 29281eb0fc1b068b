"""The live pipeline: microphone → utterances → hearing → session → voice, in time to be answered at the bench.

`pipeline` is the loop. `ahead` and `early` hear and answer sooner; `mouth`, `teller` and `interruption` speak and fall
silent; `watch` and `losses` see to lost devices; `due`, `advice`, `gauge` and `timing` are its other parts. None of
them opens a device: what they need of one stands in `parts` as Protocols.
"""
