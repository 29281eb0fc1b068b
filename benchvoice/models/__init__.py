"""Vosk models on this machine: added from a downloaded archive, listed, verified, found. Nothing here downloads."""

from benchvoice.models.store import InstalledModel, add_model, find_model, list_models, verify_model

__all__ = ["InstalledModel", "add_model", "find_model", "list_models", "verify_model"]
