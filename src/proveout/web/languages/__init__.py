"""The languages of the page: English in the templates, others in .po files read at start."""

from .catalogue import SOURCE, Words, chosen_language, language_names, mark, words_of

__all__ = ["SOURCE", "Words", "chosen_language", "language_names", "mark", "words_of"]
