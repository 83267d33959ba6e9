"""The words of findings, assumptions and cautions, by code. Codes are the contract; words may change."""

from __future__ import annotations

from typing import Final, NamedTuple

CAUTIONS: Final[dict[str, str]] = {
    "isolate-first": "Switch the supply off and isolate it before cutting or opening any cable.",
    "tight-joints": "Loose terminals and splices heat, arc and burn; use connectors made for wet ground.",
    "local-code": "This is a calculation, not an approval: local code and a licensed electrician decide.",
    "meter-under-load": "A meter reading at the last lamp, with everything on, has the last word.",
}


class FindingWords(NamedTuple):
    """The severities a finding may have, its template, and what it means."""

    severities: tuple[str, ...]
    template: str
    meaning: str


COMMISSIONING_FINDINGS: Final[dict[str, FindingWords]] = {
    "stage-cannot-be-carried": FindingWords(
        ("fault",),
        "{where}: the wiring as described cannot carry this load at {name}; no voltage would satisfy it, so"
        " nothing is expected there. Do not switch it on before lengths, sizes and watts are put right.",
        "The wiring as described has no operating point in a stage of the sheet.",
    ),
    "stage-needs-true-rms": FindingWords(
        ("warning",),
        "{where}: the lamps draw a current that is no sine. What an averaging meter shows then cannot be"
        " predicted: use a true-RMS meter.",
        "An averaging meter is to read alternating current with loads of a low power factor.",
    ),
}


COMMISSIONING_ASSUMPTIONS: Final[dict[str, str]] = {
    "mains-outlet-steps": "No mains voltages were asked for: the columns are even steps through what is"
    " usual at an outlet, 110 to 126 of 120 V (ANSI C84.1 range A, utilisation), scaled to the rated"
    " primary.",
    "mains-not-scalable": "The no-load voltage was measured, the mains at that moment were not: it cannot be"
    " scaled to other mains, so there is one column, for the mains as they were then.",
}


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


FINDINGS: Final[dict[str, FindingWords]] = {
    "fixture-below-window": FindingWords(
        ("fault", "warning"),
        "{where} gets {measured}, below {limit}. {effect} {remedy}.",
        "The voltage at the lamp is below its window, or below what the trade goes by.",
    ),
    "fixture-above-window": FindingWords(
        ("fault", "warning"),
        "{where} gets {measured}, above {limit}. {effect} {remedy}.",
        "The voltage at the lamp is above its window, or above what the trade goes by.",
    ),
    "drop-over-limit": FindingWords(
        ("fault",),
        "{where} loses {measured} of the rated voltage in the cable; the request allows {limit}.",
        "The cable drop is over the limit that the request set.",
    ),
    "transformer-over-rating": FindingWords(
        ("fault",),
        "The wiring draws {measured} at the terminals of a transformer rated {limit}. It overheats:"
        " take a larger one"
        " or split the load.",
        "Apparent power, cable loss included, is over the rating.",
    ),
    "dc-supply-over-rating": FindingWords(
        ("fault",),
        "The wiring draws {measured} from a supply rated {limit}. Take a larger one or split the load.",
        "The power drawn, cable loss included, is over the rating of the DC supply.",
    ),
    "below-minimum-load": FindingWords(
        ("warning",),
        "The wiring draws {measured}; the supply asks for at least {limit}. It may not start, or flicker.",
        "The real power drawn is below the minimum load of the supply.",
    ),
    "circuit-over-current": FindingWords(
        ("fault",),
        'Circuit "{name}" carries {measured}; its device is rated {limit} and will open.',
        "The current of a circuit is over the rating of its overcurrent device.",
    ),
    "circuit-near-limit": FindingWords(
        ("warning",),
        'Circuit "{name}" carries {measured}, over {limit}, 80 % of its device: lighting is a'
        " continuous load.",
        "The current of a circuit is over 80 % of its device.",
    ),
    "circuit-not-declared": FindingWords(
        ("note",),
        'Circuit "{name}" is not among the supply\'s circuits; a device of {limit} is taken for it.',
        "A run names a circuit that the supply does not list.",
    ),
    "class-2-exceeded": FindingWords(
        ("fault",),
        'Circuit "{name}" carries {measured}; a Class 2 source of its voltage gives at most {limit}.',
        "The current is over the nameplate limit of a Class 2 source.",
    ),
    "span-over-ampacity": FindingWords(
        ("fault",),
        "{where} carries {measured} in {conductor}, whose ampacity is {limit}. The cable overheats.",
        "The current in a cable is over its ampacity.",
    ),
    "ampacity-not-listed": FindingWords(
        ("note",),
        "{where}: the ampacity of its cable ({conductor}) is not listed; check {measured} with the maker.",
        "The tables have no ampacity for this conductor, so it was not checked.",
    ),
    "conductor-below-device": FindingWords(
        ("warning",),
        '{where}: {conductor} stands behind the {measured} device of circuit "{name}"; on its own it'
        " may stand behind"
        " {limit} at most, unless the listing of the system covers it.",
        "The smallest conductor of a circuit is thinner than its overcurrent device asks for.",
    ),
    "short-circuit-below-trip": FindingWords(
        ("warning",),
        "{where}: a short at the far end draws {measured}, less than the {limit} device"
        ' of circuit "{name}", which may never trip.',
        "A bolted short at the far end does not reach the rating of the device.",
    ),
    "wet-contact-voltage": FindingWords(
        ("warning",),
        "The {tap} tap stands at {measured} without load; where wet contact is likely the limit is {limit}.",
        "The no-load voltage is above what is allowed where wet contact is likely.",
    ),
    "dc-lamp-on-ac": FindingWords(
        ("fault",),
        "{where} is made for direct current and is fed with alternating current, peak {measured}.",
        "A fixture for DC hangs on an AC supply.",
    ),
    "ac-lamp-on-dc": FindingWords(
        ("fault",),
        "{where} is made for alternating current and is fed with direct current, {measured}.",
        "A fixture for AC hangs on a DC supply.",
    ),
    "cable-too-long-for-supply": FindingWords(
        ("fault",),
        "{where} ends {measured} from the supply, which allows {limit} of cable.",
        "A run reaches farther than the supply's maker allows.",
    ),
    "tap-not-offered": FindingWords(
        ("fault",),
        "{where} asks for a {measured} tap, which the supply does not offer.",
        "A run names a tap that is not among those of the supply.",
    ),
    "tap-on-direct-current": FindingWords(
        ("note",),
        "{where} asks for a {measured} tap; a DC supply or a battery has none, so the tap is set aside.",
        "A run names a tap of a supply that has none.",
    ),
    "no-operating-point": FindingWords(
        ("fault",),
        "{where} cannot carry its load: about {limit} of it is the most that this wiring carries, and beyond"
        " that the voltage collapses. Use thicker cable, shorter or split runs, fewer watts or more volts.",
        "The wiring cannot carry the load; no voltage would satisfy it.",
    ),
    "near-collapse": FindingWords(
        ("warning",),
        "The wiring cannot carry {limit} times its load: a little more load or length and the"
        " voltage collapses.",
        "The load is close to the largest that the wiring can carry.",
    ),
    "window-empty": FindingWords(
        ("fault",),
        "{where} has a window from {measured} to {limit}: no voltage lies in it.",
        "The minimum of a window is above its maximum.",
    ),
    "supply-above-low-voltage": FindingWords(
        ("fault",),
        "The {tap} tap stands at {measured} without load, above the {limit} of low voltage. Check the mains"
        " voltages in the request.",
        "The no-load voltage is above 30 V AC or 60 V DC: no longer low voltage.",
    ),
    "supply-nominal-outside-range": FindingWords(
        ("warning",),
        "The battery's nominal voltage, {measured}, lies outside its own range.",
        "The nominal voltage of a battery is below its lowest or above its highest.",
    ),
    "cable-change-overridden": FindingWords(
        ("note",),
        "{where}: two cable changes stand at {measured}; the later one in the request is used.",
        "Two changes of cable at one place.",
    ),
    "supply-range-empty": FindingWords(
        ("fault",),
        "The battery's lowest voltage, {measured}, is above its highest, {limit}.",
        "The lowest voltage of a battery is above its highest.",
    ),
    "apparent-below-real": FindingWords(
        ("warning",),
        "{where} states fewer volt-amperes than watts, which cannot be; the watts are used.",
        "Apparent power below real power.",
    ),
    "power-factor-beside-apparent-power": FindingWords(
        ("note",),
        "{where} states both a power factor and volt-amperes; the volt-amperes are used.",
        "Two statements of the same thing.",
    ),
    "power-factor-on-direct-current": FindingWords(
        ("note",),
        "{where} states a power factor or volt-amperes; on direct current only the watts count.",
        "A statement that has no meaning on direct current.",
    ),
    "first-past-end": FindingWords(
        ("note",),
        "{where}: the first fixture was asked for beyond the length of the cable; it stands at the end.",
        "The first fixture of an even wiring lies past the length.",
    ),
    "cable-change-past-end": FindingWords(
        ("note",),
        "{where}: the cable change at {measured} lies past the end at {limit} and changes nothing.",
        "A change of cable beyond the end of its run.",
    ),
    "no-transformer-fits": FindingWords(
        ("fault",),
        "No transformer on offer carries this job: it asks for {measured}, spare included, and the largest is"
        " rated {limit}. The list of the rejected says what each lacks.",
        "Every transformer of the stock, or of the usual ratings, lacks something.",
    ),
    "division-impossible": FindingWords(
        ("fault",),
        "{where} does not fit on the circuits of the largest transformer that would carry the load:"
        " {measured} against {limit}. Split the run, or take one with more circuits.",
        "No division of the runs was found that keeps every circuit within its limit.",
    ),
    "no-transformer-on-direct-current": FindingWords(
        ("note",),
        "The wiring is fed with direct current, which no transformer gives, so none is recommended.",
        "A transformer was to be chosen for a DC supply or a battery.",
    ),
    "duplicate-name": FindingWords(
        ("note",),
        'The name "{name}" stands more than once; answers are told apart by pointer.',
        "Two runs or fixtures have the same name.",
    ),
    **READING_FINDINGS,
    **COMMISSIONING_FINDINGS,
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


ASSUMPTIONS: Final[dict[str, str]] = {
    "supply-ideal": "The supply's own resistance is not stated and taken as nought: its voltage does"
    " not sag with load.",
    "mains-nominal": "The mains are taken at their rated voltage.",
    "mains-as-measured": "The mains are taken as they were when the open-circuit voltage was measured.",
    "taps-share-winding": "All taps share one winding whose resistance is referred to the primary;"
    " on a real tapped"
    " winding a low tap may read up to 0.06 V less.",
    "battery-nominal": "The battery stands at its nominal voltage.",
    "one-circuit": "All runs are on one circuit behind one 25 A device.",
    "circuit-limit-default": "Circuits without a stated limit are each behind a 25 A device.",
    "fixtures-12-volt": "The fixtures are made for 12 V.",
    "power-factor-one": "Where neither power factor nor volt-amperes are stated, volt-amperes equal"
    " watts. Many LED"
    " lamps on AC draw more: the label's VA is better.",
    "window-default": "Fixtures without a window of their own are judged by common practice, no"
    " published source.",
    "conductor-20-degrees": "Conductors are at 20 °C. Warm ones have more resistance, about 0.4 % a degree.",
    "conductor-copper": "Conductors without a stated material are copper.",
    "conductor-stranded": "Conductors without a stated stranding are stranded (metric: IEC 60228 class 2).",
    "conductor-derived": "A conductor that the tables do not print was derived from one that they"
    " do, on the safe side.",
    "points-merged": "Points nearer than 1 mm to each other are one point.",
    "stated-state-only": "No corners were asked for: the choice is made for the state that the request"
    " describes, not for low or high mains or a hot cable.",
    "cable-price-missing": "Not every cable has a price, so the least metal was sought.",
    "layout-unknown": "Only the total load and the length are known. All of it is taken at the far end, the"
    " cautious layout; voltage-drop shows beside it what an even spread would give.",
    "spread-as-lumps": "A load spread evenly and without gaps is computed as 64 lumps; the error that this"
    " may leave is stated beside the end voltage.",
    "strip-constant-power": "A strip draws the same watts on each length of it at any voltage, as with"
    " regulators on it; one with resistors alone draws less where the voltage is lower.",
    "strip-as-lumps": "A strip with resistance of its own is computed as 32 lumps: while it loses less than a"
    " third of the voltage at its start, its far end reads low by less than 0.005 % of that.",
    "connected-added-up": "The connected volt-amperes are the fixtures' own, added up as plain numbers; where"
    " power factors differ the true sum is smaller.",
    "core-ideal": "The primary current leaves out what magnetises the core, some per cent of the rated"
    " current.",
    "spare-10-percent": "The transformer is to have 10 % to spare above the connected volt-amperes: common"
    " practice, no published source.",
    "usual-ratings": "No stock was sent: transformers of the usual ratings stand for it, each with every tap"
    " in use, a voltage that does not sag, and as many 25 A circuits as it fills at the lowest tap.",
    "stock-without-regulation": "A transformer of the stock without a regulation holds its rated voltage at"
    " any load.",
    "stock-without-circuits": "A transformer of the stock without circuits has one, behind a 25 A device.",
    "stock-without-limit": "Circuits of the stock without a stated limit are each behind a 25 A device.",
    "prices-without-currency": "The prices of the stock are all in one currency, which is not stated.",
    "runs-added-up": "Runs are divided by the highest current of each in any state, added up as plain"
    " numbers; a clamp round a whole circuit may read less.",
    "all-current-in-phase": "Every volt-ampere is counted as if it were a watt, as the request asks.",
    **READING_ASSUMPTIONS,
    **COMMISSIONING_ASSUMPTIONS,
}


READING_CAUTIONS: Final[dict[str, str]] = {
    "meter-category": "Measure mains only with a meter and leads of the measurement category for it"
    " (IEC 61010, from memory), and leave the primary side to a licensed electrician.",
    "hot-joints": "A joint with extra resistance turns it into heat: do not leave it loaded until it is made"
    " anew.",
}
