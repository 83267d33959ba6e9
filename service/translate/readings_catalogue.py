"""The words of a check of readings, by code. Codes are the contract; words may change."""

from __future__ import annotations

from typing import Final

from service.translate.finding_words import FindingWords

READING_FINDINGS: Final[dict[str, FindingWords]] = {
    "reading-without-state": FindingWords(
        ("warning",),
        "{where} does not say what was on when it was taken: a voltage without its load tells nothing of the"
        " cable. Say the state and send it again.",
        "A reading without a state is judged against nothing and fitted to nothing.",
    ),
    "reading-above-supply": FindingWords(
        ("fault",),
        "{where} shows {measured}, and the supply gives {limit} without load. No mains and no tap of this box"
        " makes up for that: check the meter's range and where its probes were.",
        "A voltage of more than 1.4 times what the supply gives without load.",
    ),
    "reading-above-upstream": FindingWords(
        ("fault",),
        "{where} is one of two in the same state that cannot both be right: {measured} downstream and {limit}"
        " upstream, where a voltage can only fall on the way out. Take both again.",
        "A voltage that is higher than where it comes from, by more than the meter's error.",
    ),
    "current-without-load": FindingWords(
        ("warning",),
        "{where} shows {measured} where nothing was on, so not everything was off. Find what draws it, or say"
        " what was on.",
        "A current in a state in which nothing is to draw any.",
    ),
    "drop-without-load": FindingWords(
        ("fault",),
        "{where} shows {measured} where nothing was on, and {limit} stood upstream. Cable without current"
        " loses nothing, so something draws there. Find it, or say what was on.",
        "A voltage that falls along the cable in a state in which nothing is to draw.",
    ),
    "clamp-reads-nothing": FindingWords(
        ("note",),
        "{where} shows {measured} where about {limit} are to flow. A clamp round both conductors shows"
        " nothing: put it round one of them. If it was, nothing behind it was on.",
        "A clamp that shows next to nothing where a current is expected.",
    ),
    "reading-decimal": FindingWords(
        ("note",),
        "{where} says {measured}, and {limit} would fit: look at the decimal point, the unit and the meter's"
        " range.",
        "A reading that would fit if it were ten, a hundred or a thousand times as large or as small.",
    ),
    "readings-exchanged": FindingWords(
        ("note",),
        "{where} and {name} fit if they were written down for each other: {measured} and {limit}.",
        "Two readings of one state that are both off and would both fit at the other's place.",
    ),
    "drop-beyond-cable": FindingWords(
        ("fault",),
        "{where} shows {measured}. The cable would lose so much only at {limit}: no cable explains it. Look"
        " for a short, two conductors joined or a burnt joint; read the volts at the terminals and the"
        " amperes first.",
        "A drop for which the cable would have to carry far more than anything here draws.",
    ),
    "meter-averages": FindingWords(
        ("warning",),
        "{where} comes from an averaging meter, and the lamps that were on draw a current that is no sine."
        " What such a meter shows then cannot be predicted: use a true-RMS meter.",
        "An averaging meter on alternating current with loads of a low power factor.",
    ),
    "state-cannot-be-carried": FindingWords(
        ("fault",),
        "{where} was taken in a state that the wiring as described cannot carry: no voltage would"
        " satisfy it. Whatever the meter shows there, the wiring is other than described. Check lengths,"
        " sizes and watts first.",
        "The wiring as described has no operating point in a state in which it was read.",
    ),
}

READING_ASSUMPTIONS: Final[dict[str, str]] = {
    "meter-usual": "A meter whose sheet is not stated is within 0.8 % of the reading and 3 counts of 0.01 V:"
    " common practice, no published source.",
    "clamp-usual": "A clamp meter whose sheet is not stated is within 2.5 % of the reading and 5 counts of"
    " 0.01 A: common practice, no published source.",
    "meter-gain-common": "Limits of error count as rectangular. Four fifths of the variance of a meter's"
    " percentage are one gain, common to all its readings of volts or of amperes; the rest and the counts are"
    " each reading's own.",
    "temperature-usual": "All conductors have one temperature, anything between 5 and 35 °C; predictions are"
    " for 20 °C.",
    "temperature-within-5": "All conductors have one temperature, within 5 K of the one stated.",
    "lengths-within-2": "Each stretch of cable is within 2 % of its stated length: common practice, no"
    " published source.",
    "resistance-within-2": "Each kind of cable is within 2 % of its table: IEC 60228 gives a maximum, and"
    " copper on sale is a few per cent below it or, sold short, above.",
    "power-within-3": "Each fixture draws its stated load within 3 %: common practice, no published source.",
    "winding-within-10": "The resistance of the supply is within 10 % of what its regulation says: common"
    " practice, no published source.",
    "supply-within": "The volts that the supply gives without load are within 1 % where they were measured,"
    " follow measured mains or are regulated, a battery's between empty and full as stated, else within 5 %.",
    "supply-common": "What the supply is off by is common to all states; from one state to the next it moves"
    " by half of that at most, and by no more than 1 %.",
    "primary-usual": "Mains were measured but the rated primary is not stated: 120 V or 230 V, whichever is"
    " nearer in kind.",
    "mains-set-aside": "The mains of a state are set aside: a DC supply and a battery do not follow them.",
    "one-cause": "One single thing is wrong at a time. Two at once may look like a third.",
    "causes-left-out": "Causes that promise least were not tried, because the work of one request is"
    " limited.",
}

READING_CAUTIONS: Final[dict[str, str]] = {
    "meter-category": "Measure mains only with a meter and leads of the measurement category for it"
    " (IEC 61010, from memory), and leave the primary side to a licensed electrician.",
    "hot-joints": "A joint with extra resistance turns it into heat: do not leave it loaded until it is made"
    " anew.",
}

CONCLUSIONS: Final[dict[str, str]] = {
    "agrees": "The readings agree with the wiring as described, within what meter and wiring may be off by:"
    " {probability} % of sound jobs would differ more.",
    "agrees-but": " Taken one by one {which} would be outside what is expected, as one in twenty is by"
    " chance: look there again.",
    "disagrees": "The readings do not fit the wiring as described. One thing would explain them: {first}",
    "disagrees-place": "The readings do not fit the wiring as described. One place would explain them. The"
    " likeliest cause there, which these readings do not tell from others, is: {first}",
    "disagrees-unsettled": "The readings do not fit the wiring as described. The likeliest single cause,"
    " which these readings do not tell from others, is: {first}",
    "contradicts": "No single cause explains these readings together: a reading is wrong, or more than one"
    " thing is wrong. Take them again, one state at a time, before anything is opened.",
    "contradicts-both-ways": "No single cause explains these readings together: under the best one {high} is"
    " still too high and {low} too low. A reading is wrong, or more than one thing is wrong. Take both again"
    " before anything is opened.",
    "impossible": "What can be judged fits the wiring as described, but {which} cannot be right with it; the"
    " findings say why.",
    "impossible-some": "What can be judged fits the wiring as described, but {which} cannot all be right with"
    " it; the findings say why.",
    "nothing-to-judge": "No reading can be judged against the wiring as described; the findings say why.",
}

IDENTIFIABILITY: Final[dict[str, str]] = {
    "agrees": "Nothing needs explaining. What these readings do not touch is not checked by them.",
    "alone": "No other single cause fits nearly as well.",
    "same-place": "The place is settled, what is wrong there is not: {others}.",
    "not-separated-one": "One other cause fits about as well, and these readings cannot tell it from the"
    " first: {others}.",
    "not-separated": "{count} other causes fit about as well, and these readings cannot tell them apart:"
    " {others}.",
    "contradicts": "Nothing is separated: no single cause fits.",
    "impossible": "No cause is sought for what cannot be: take the reading again first.",
    "nothing-to-judge": "Nothing can be told apart without a reading that can be used.",
    "left-out": "{count} less promising causes were not tried: the work of one request is limited.",
}

EXPLANATIONS: Final[dict[str, str]] = {
    "supply-voltage": "The supply is {percent} % {height} than thought: {reason}.",
    "supply-dead": "The supply gives nothing: a timer, photocell, breaker or fuse that is off, or a lead off"
    " at its terminals.",
    "winding-resistance": "The supply has {size} ohm of its own in place of {declared}: a weak or overloaded"
    " supply, or loose terminals at it.",
    "winding-lower": "The supply has {size} ohm of its own in place of {declared}: it is stiffer"
    " than stated.",
    "splice-resistance": "{size} extra between {where}: a splice or a terminal there.",
    "span-resistance": "The cable between {where} has {percent} % {way} resistance than thought: {like}.",
    "cable-resistance": "{where} has {percent} % {way} resistance than thought: {like}.",
    "open-circuit": "The cable is broken between {where}.",
    "fixture-power": "{where} draws about {watts} W in place of {declared} W.",
    "fixture-dark": "{where} draws next to nothing: dark, or not connected.",
    "line-power": "All fixtures of the line {where} draw {percent} % {way} than stated.",
    "all-power-more": "All fixtures together draw {percent} % more than stated: labels that say too little.",
    "all-power-less": "All fixtures together draw {percent} % less than stated: not everything was on, or"
    " labels that say too much.",
    "fixture-power-factor": "{where} has a power factor of about {size}.",
    "undeclared-load": "About {size} W more than declared at {where} or beyond.",
    "fixtures-exchanged": "{where} and {other} stand in each other's place.",
}
