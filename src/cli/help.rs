//! The reference behind `--help`: rules and file keys that a command follows, in its own place.

/// Behind the examples of a command.
pub(super) fn behind(examples: &str, reference: &str) -> String {
    format!("{examples}\n\n{reference}")
}

/// What the file of a stock may say, and what ± means.
pub(super) const STOCK: &str = "\
The file of a stock:
  salt: \"MgCl2·6H2O\"       name or formula; \"CaCl2, anhydrous\" says that no water is in it, and a \
name that leaves the hydrate open is refused with the list
  made: ToTotalMass(…)     salt and water to a mass; ToVolume(…) to the mark of a flask; \
IntoWater(…) salt into a mass of water
  lot: (purity: \"99 %\")    also \"99 ± 0.5 %\", \"98 to 100 %\", \"at least 99 %\"; moisture, grade, \
price: \"6.40 per kg\"
  storage: \"5 °C\"          where the bottle stands; keeps: \"3 months\"

A stock that would not dissolve, or from which crystals would grow where it is kept, is refused. A \
strength that is not known to 10 % is warned of.

The batch is what is in the bottle and decides every dose; the file is what is meant and decides the \
next weighing. Where they differ, both strengths are shown.

Every ± is the expanded uncertainty with k = 2, about 95 %, with two figures at most (JCGM 100). What \
a maker or a certificate states as ± is read in one way everywhere, as the largest error either way \
with equal chance inside (u = a/√3): balances, flasks, dispensers and the meter in `bench.ron`, \
purities, moistures, and `within` of an analysis. Conductivity comes from one model of the ions in a \
water, in `verify`, `water` and `read` alike; its own ± is from 2 % (k = 2) for a salt that was \
measured to about 6 % for carbonates and organic salts, 4 to 5 % for mixtures, and grows with the heat.";

/// How a flight is planned: goals, stages, limits, steps, pinned waters, proofs.
pub(super) const MIX: &str = "\
The doses, each step leaving the ones before untouched:
  1. As little as possible is missed beyond the tolerances: the sum over the goals, each in units of \
its own tolerance and times its weight. With `misses: Largest` the largest of them comes first.
  2. As little as possible inside the tolerances, in the same units.
  3. The least volume of stocks; or, with `prefer:`, LeastSodium, LeastCost (of salts and base water; \
nothing is planned while the price of a stock is missing; water without one counts as nothing), \
FewestStocks in each water. `--nearest-to TARGET` stays as near to one water as the tolerances allow.

A goal without a tolerance has 5 % of itself, at least 1 mg/L (as CaCO3 for hardness and alkalinity). \
`at most`, `at least` and `between` have none unless one is stated. A tolerance of 0 counts what is \
missed in units of that usual tolerance. A tolerance is read with the digits it is written with.

A ratio a : b within r ± d is kept when a lies between (r - d) · b and (r + d) · b; d is 5 % of r, at \
least 0.05, unless stated. A miss counts in units of d times the b that the other goals ask for. Inside \
its tolerance a ratio is drawn to r: `at least 2 ± 0.5` comes to 2 wherever that costs no other goal more.

Limits: stocks take at most 100 mL per litre and a water holds at most 1,500 mg/L of dissolved solids, \
since a base water that is too hard can also be thinned with brine, and nobody means that. A flight has \
`limits: (stocks: \"150 mL/L\", dissolved_solids: \"none\")`. A water that only brine would reach is out \
of reach, with what would help: often distilled water in the base.

The litre: `convention: MadeUpToALitre` means doses first, then base water up to the mark; \
`AddedToALitre` means doses into a full litre of base water, and misses are counted in the finished \
water. Several base waters can be blended, within limits such as \"harbour tap, at most 50 %\".

Steps: with a dispenser every dose is a whole number of its steps, nothing or at least the least \
amount, and a dose too small to deliver comes with a weaker bottle to make. A syringe or pipette that \
`holds: \"5 mL\"` has its `error` in every stroke anew (they add in squares) and `off: \"1 %\"` in all of \
them together; a dropper's `error` is how far all its drops are off (it adds up), its `scatter` how \
they differ from each other. In a flight file: `dispenser: \"syringe\"`, `stock_set: Fewest`, `AtMost(4)` \
or `Same`, `left: [(\"epsom\", \"80 mL\")]`, and in a target `with: [\"epsom\"]` or `without: [\"epsom\"]`.

A target that must stay what it was is pinned:
  tasted: \"first-flight-1/soft\"   a water as a session was planned with it, of the salts it then had
  composition: (calcium: \"12 mg/L\", …)   ion by ion; what is not named is not wanted
  made_of: [(\"CaCl2·2H2O\", \"27.8 mg/L\"), …], made_in: [(\"hill spring\", \"100 %\")]   by its salts
Each amount has the usual tolerance unless `tolerance: \"2 %\"` is stated.

One style for all waters: `style: SameSalts` (one set of stocks, all of it in every water, \
each with the least dose of the dispenser, of the flight or else of `tools` in bench.ron), `Ratios(calcium_to_magnesium: \"1 mol/mol\", chloride_to_sulfate: \"2 mol/mol\")` (either may be left \
out), or `SameRatios`, where both are chosen for the flight as a whole, or are those of its first pinned \
water. A miss of the style counts ten times a miss of a goal.

Proved means that no other doses are better by more than a ten-thousandth of a tolerance (or of the sum \
of misses, where that is more than one tolerance; never more than a hundredth of a tolerance). Doses whose \
misses inside tolerance differ by no more than that are alike, and what is preferred decides between them. Doses in \
steps are searched for one second a water, sets of stocks for ten seconds; what is not proved by then \
says so, with the gap. What takes longer than two seconds shows its progress; Ctrl-C ends it. Each \
answer is checked again outside of the solver; one that fails is solved once more with twice the digits.";

/// What an analysis may leave out, and what the bench says of meter and machine.
pub(super) const WATER: &str = "\
What an analysis does not list was not measured, and that is not zero. It goes with its share into \
every blend, plan, session and table: not measured (null in --json, an empty cell in a table), with \
bounds where the charges or a reading give them. The conductivity becomes a range. What depends on the \
unknown is withheld with the reason (a corrosion ratio without chloride, limescale without alkalinity), \
and a charge balance that lacks one side, or main ions of both, never passes. A goal that counts an \
unmeasured ion is refused until the file says more: `nitrate: \"< 0.5 mg/L\"` was looked for and not \
found; `assumed: (chloride: \"10 mg/L\")` or `not_listed: Zero` is an assumption, which every report then \
repeats. `within: \"5 %\"` says how far the analysis may be off.

A pH is compared with the alkalinity by the carbon dioxide that it takes: more than an atmosphere of it \
is refused, an unusual amount is named; so is a conductivity, or a sum of dissolved solids, that the ions \
contradict.

In `bench.ron`, `boilers: (brew: \"93 °C\", steam: \"125 °C\", steam_cycles: 10)` says how hot the boilers \
are, `meter: (shows: Ppm500, step: 1, error: \"2 %\")` what the meter shows, and `machine: (name: …, \
limits: (hardness: \"between 50 and 100 mg/L as CaCO3\", chloride: \"at most 50 mg/L\"), not_checked: \
[\"free chlorine: at most 0.05 mg/L\"], litres_a_day: 20, steam_litres_a_day: 2, service_every: \"180 \
days\")` what its maker allows. Limits are worded as on the maker's sheet (`max. 30 mg/L`, `3-6 °dH`, \
`6.5 to 8`), on any measure, `ph` and `conductivity`; a value that does not say on which side of it the \
water has to be is refused. Litres a day and days between services turn limescale into grams.";

/// How a dry batch is chosen.
pub(super) const BATCH: &str = "\
Whole steps of the balance are searched, everything that it can show; of the weighings that miss the \
goals least it takes the one that the error of the balance disturbs least. How accurate each weighing is \
stands beside it: nothing is left out for that unless --at-worst says so. The last columns are what the \
stocks give instead, exactly, or in drops and marks with --dispenser. It says from how many litres on the \
balance is good enough.";

/// How a bottle is judged, and how a recipe is read.
pub(super) const CONCENTRATE: &str = "\
It says what precipitates or gasses off in the bottle in the room and in the fridge, with the carbon \
dioxide pressure in the closed bottle (filled to the brim, and with a fifth of it gas), what the \
water would be unshaken, and the fewest bottles in which nothing precipitates. A bottle that would hold \
more than 0.5 bar is not to be shut tight, and its label says so.

In a recipe salts stand by name, by formula or by the name of a stock (grams of its bag, millilitres of \
its bottle); decimals may stand behind a comma. Water and dose are stated, never assumed: --into-water or \
--total with a --dose of up to a litre, or --keg \"19 L\" for grams that go straight into a keg. --into NAME \
writes the water as a target of a new flight.";

/// What is fixed before a tasting, and what it means for the answers.
pub(super) const SESSION: &str = "\
Several attributes are several chances to be wrong. --primary liking names one beforehand: it is tested, \
and the others are described. Without it all are tested together, so that of the attributes said to \
differ at most 5 % are false on average (Benjamini & Hochberg), which takes larger differences. Waters \
are compared within tasters; means are raw means unless the plan corrects them (--adjust-for \
place,carry-over), and whether places mattered is looked at wherever there are cups enough to test it. A taster is named only where the \
waters differ clearly or, against the others, where the rest agree, allowing for all tasters.

What is wanted is stated beforehand: --wanted \"bitterness: less\" (or more, or near=6). When left out, \
more liking is wanted where something of that name is judged; an intensity such as bitterness never wins \
and is never bettered unasked (`journal` and `next` take --attribute NAME --wanted WAY for sessions that \
did not state it). An order that is expected, entered by `session expect` before the first answer, is tested \
(Page) and shown after the reveal.

With a dispenser so much of each water is made that every dose is a whole number of its steps, and at \
least its least; as much is made of each water as if it had the most cups, so that amounts do not say \
which is hidden twice. The scatter that the sessions of a bench have shown is what the next plan counts \
on. Alone (--alone), all trays are poured and shuffled first and turned over last (`session turned`), \
which is final; `session progress` names the command to type next.

`session results` also shows every score, ranking and remark, and what was in the cups (brew and doses): \
of one taster and two waters too, where nothing can be tested. A mean without an interval is one whose \
error could not be estimated.";

/// How the next waters are chosen.
pub(super) const NEXT: &str = "\
Waters that the shelf can make are compared by a surface over hardness, alkalinity and the share of \
magnesium (or --over other measures) that is drawn through all scores of what is wanted. Three hypotheses \
are weighed by how probable they make the scores: the waters are alike and only the panel errs; each water \
differs in its own way; the scores follow the composition. The answer says which the evidence is for, in \
the words of Kass and Raftery's table, where the best lies if it is for a slope, and which water is best \
so far: by its own scores and, as far as they say, those of waters near it. --into NAME writes the new \
waters as a flight together with the best so far (or --reference WATER), as the composition that was \
tasted.";

/// What the table is, what is on disk, what the address means.
#[cfg(feature = "serve")]
pub(super) const SERVE: &str = "\
Each taster opens the own link and finds the own cups in the own order, one on the screen. What is typed \
is a draft; what is sent waits on the phone until it is on disk, with the line of the log that says so; \
what is refused says why. A phone that sleeps or loses the network sends later, and the same answer sent \
twice is one line. Until the reveal every taster may correct the own cups. The pages work without script \
too, as plain forms.

The host's link shows how far everybody is, in counts alone, calls breaks, gives a taster a new link when \
a phone is lost, and opens the key when asked twice. From then on everybody sees the results. Before it \
the page knows the plan and the log and opens neither the key nor the list of waters.

The log of the session stays the one store: `session score`, `--csv` and phones may be used at once. The \
links and the port are kept in `links.json` of the session, so a program started again is found where it \
was. Whoever has a link answers as that taster: hand each to its taster alone.

Without `--on` only this machine reaches the page. With it everyone in that network does, and can read \
along, because the connection is not encrypted; guest networks often isolate phones, so use a hotspot.

Without a session a page of the bench opens, on this machine alone: goals are moved by sliders or typed as in \
a flight's file, and the doses, what the water holds, its limescale and cost and its place on the map of what \
the shelf can make follow at once. Waters are pinned and compared. The water found is written as a new flight, \
never over a file; nothing else is written.";
