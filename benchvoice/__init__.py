"""benchvoice: a hands-free assistant for the electronics repair bench, working offline."""

__version__ = "0.1.0"
