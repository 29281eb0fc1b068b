"""Vosk models on this machine: added from a downloaded archive, listed, verified, found. Nothing here downloads."""

from benchvoice.models.store import InstalledModel, Models, add_model, find_model, list_models, verify_model

__all__ = ["InstalledModel", "Models", "add_model", "find_model", "list_models", "verify_model"]
