"""Loading: the grower's files in, frozen values or every problem out."""

from feedplan.load.collection import Loaded, load_collection, load_text

__all__ = ["Loaded", "load_collection", "load_text"]
