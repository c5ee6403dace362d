"""Building a plan by steps, in the verbs of the trade.

``steps.lay`` does steps on the text of a plan and returns the new text (``Laid``).
``catalogue.offers`` lists what can be done at one place of a plan (``offering.Offer``);
``catalogue.VERBS`` has all verbs. ``history.History`` keeps the texts, to undo and redo. A step
that cannot be done raises ``refusing.Refused``, which says what is wrong and what to do.
"""
