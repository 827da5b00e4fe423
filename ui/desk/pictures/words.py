"""Words of the trade, explained where they stand: help texts of columns and entries, and the glossary."""

from __future__ import annotations

__all__ = ["GLOSSARY", "HELP", "target_help"]

HELP = {
    "brix": "Degrees Brix: grams of all that is dissolved in 100 g of juice, as a refractometer shows "
    "it. Leave it empty where nothing was read.",
    "brix_temperature_c": "Temperature of the juice on the prism. Leave 20 where the instrument corrects "
    "the temperature itself.",
    "brix_plus_minus": "How far the instrument may be off. Hand refractometers state 0.2 °Bx.",
    "price_per_kg": "In your own money. Once every ingredient has one, the mix has a cost.",
    "stock_g": "What there is. No mix is proposed that takes more.",
    "grams": "What goes in at present. Leave it empty to have it found.",
    "min_g": "No mix is proposed with less.",
    "max_g": "No mix is proposed with more.",
    "fixed": "Hold this weight as it is.",
    "batch": "Finished mix as it goes into the churn. Weights are scaled to it.",
    "target_min": "The mix must have at least this much. Leave it empty for no limit.",
    "target_max": "The mix must have at most this much. Leave it empty for no limit.",
    "kind": "Sets the usual serving temperature and window; both can then be changed.",
    "serve": "At what temperature it is scooped.",
    "window": "The serving window: how much of all the water should be frozen for a good scoop. The "
    "usual windows are common practice, without a source: churn a little, and set your own.",
    "freezer": "Temperature of the freezer where it is kept.",
    "overrun": "Air beaten in: 25 % means 1 litre of mix became 1.25 litres.",
    "confidence": "Lots vary and readings are off. This asks for a mix whose targets each hold so "
    "often.",
    "slack": "0.1 is a tenth of one ingredient's weight more change than the best mix, or 0.1 more cost "
    "per kg.",
    "least_use_g": "None of it, or at least so much.",
}

GLOSSARY = {
    "Mix": "What goes into the churn.",
    "Lot": "One delivery of an ingredient, with its own reading.",
    "Total solids": "All that is not water (or alcohol), % of the mix.",
    "Milk solids-not-fat": "Protein, lactose and minerals of milk, % of the mix.",
    "Sweetness": "Grams of sucrose that would taste as sweet, in 100 g of mix. The tables disagree by up "
    "to a third.",
    "Stabiliser": "Gums and gelling agents that hold water, % of the mix.",
    "First ice": "Initial freezing point: the temperature at which the first ice forms in the churn.",
    "Frozen water": "How much of all the water in the mix is ice at a temperature, %.",
    "Serving window": "The span of frozen water in which this kitchen calls a mix scoopable.",
    "±": "One standard deviation: two times in three the truth lies within.",
    "°Bx": "Degrees Brix: grams dissolved in 100 g of juice, as a refractometer shows them.",
    "Overrun": "Air beaten in, % of the volume of the mix.",
    "Drawn": "Taken out of the churn, at the temperature that it then has.",
    "Hardening": "Freezing on, after the churn, to the temperature at which it is kept.",
    "Tempering": "Warming from the freezer to where it scoops.",
    "DE": "Dextrose equivalent of a syrup or powder: the higher, the sweeter and softer it makes a mix.",
    "MSNF": "Milk solids-not-fat.",
    "Holds 9 in 10": "Of ten such mixes, with lots and readings as they vary, nine hold the target.",
    "Target": "A range that the mix must meet.",
    "Limit": "A bound on the weight of one ingredient.",
}


def target_help() -> str:
    """How to fill in a target."""
    return "Equal numbers mean exactly that; leave one empty for no limit on that side."
