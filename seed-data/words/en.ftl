# Everything that a customer reads, in British English; also how figures are written. The format is Project Fluent
# (projectfluent.org). A file of a region (en-US.ftl) holds only what differs from that of its language.

## How figures are written: Unicode CLDR 48, locale en-GB

language-name = English
decimal-mark = .
group-mark = ,
money-group-mark = ,
# western, indian or none
grouping = western
# $space stands between a sign made of letters and the digits.
money = { $currency }{ $space }{ $amount }
money-below-zero = −{ $currency }{ $space }{ $amount }
money-more = +{ $amount }
money-less = −{ $amount }
money-same = no more, no less
percent = { $number }%
day = { $day } { $month } { $year }
# $hour counts to 24, $hour-of-half to 12, $half is am or pm.
moment = { $day }, { $hour }:{ $minute }
and-so-on = { $first }, { $next }
month-1 = January
month-2 = February
month-3 = March
month-4 = April
month-5 = May
month-6 = June
month-7 = July
month-8 = August
month-9 = September
month-10 = October
month-11 = November
month-12 = December

## Around the page

skip = Skip to the page
foot-caution = Not a certification: local rules and the authority decide what may go on the road. Have a licensed engineer check what carries load.
page-title = Your quote from { $shop }
quote-by = A quote by { $shop } for { $customer }. { $revision }, { $day }.
quote-by-open = A quote by { $shop }. { $revision }.
revision = Revision { $number }
revision-open = Not issued yet
as-pdf = This quote as PDF
to-ask = Ask a question
to-accept = Accept
waits-for-you = waits for your answer
valid-until-left = Valid until { $day } ({ $left }).
valid-until = This quote is valid until { $day }.
left-over = its time is over
left-today = until the end of today
left-tomorrow = it ends tomorrow
left-days = { $days ->
    [one] one day left
   *[other] { $days } days left
}

## What they said, and how it goes on

accepted-title = You accepted this quote
accepted-by = { $name } accepted it on { $moment }.
accepted-next = { $shop } will get in touch.
accepted-next-deposit = { $shop } will get in touch about the deposit.
declined-title = You declined this quote
declined-by = { $name } declined it on { $moment }. Thank you for telling us. If you change your mind, write to us below.
progress-title = How far it is
progress-accepted = Accepted: we plan the work and order what is needed
progress-started = In the workshop: your trailer is being built
progress-handed-over = Handed over: we wish you good trips
progress-since = on { $day }
progress-next = still to come

## At a glance

lead = It carries up to { $payload }, weighs about { $empty } empty and presses with up to { $coupling } on your tow ball.
figure-price = Price
with-tax = with tax
figure-empty = Weighs, empty
figure-empty-note = worked out, not weighed
figure-gross = May weigh, loaded
figure-gross-note = stands on its plate
figure-payload = You can load
figure-coupling = Presses on the tow ball
figure-coupling-note = at most
figure-bed-length = Bed length
figure-bed-width = Bed width
figure-bed-height = Bed height above ground
figure-bed-height-note = empty
figure-length = Length overall
figure-width = Width overall

## What changed since an earlier quote

changed-title = What changed since revision { $number }
changed-nothing = Nothing that you would notice: it was issued again with the same figures.
changed-inside = Details of how it is built changed, such as the sizes of tubes. We gladly tell you which.
changed-what = What
changed-before = Before
changed-now = Now
changed-not-there = not there
changed-gone = no longer
changed-asked = What you asked for
changed-gets = What you get
changed-figures = Sizes and weights
changed-price = Price
changed-terms = Terms

## What you asked for

asked-title = What you asked for
asked-load = It carries: { $load }, { $mass }, { $length } long, { $width } wide, { $height } high.
about-load = Load: { $load }
asked-trip = On one trip it carries together: { $loads }.
asked-trip-named = { $trip }: it carries together { $loads }.
about-trip = Trip
asked-vehicles = It is towed by: { $vehicles }.
about-vehicles = Towed by
asked-road = { $road ->
    [sealed] It goes on sealed roads.
    [gravel] It goes on gravel roads too.
   *[rough] It goes on rough tracks too.
}
asked-road-salt = { $road ->
    [sealed] It goes on sealed roads, also by the sea or in salt water.
    [gravel] It goes on gravel roads too, also by the sea or in salt water.
   *[rough] It goes on rough tracks too, also by the sea or in salt water.
}
about-road = Roads
asked-count = { $count } trailers, all alike.
about-count = How many

## What you get

gets-title = What you get
view-plan = From above
view-side = From the side
view-whole = The trailer as built
view-whole-described = The whole trailer without its load, seen from its front left and from above.
viewer-open = Turn it in 3-D
viewer-fetching = Fetching the trailer …
viewer-help = Drag sideways or use the arrow keys to turn. Tap or click it to turn it every way and to come nearer with wheel or two fingers; Esc, or a tap beside it, lets the page scroll again. + and − come nearer and go back, Home begins again.
viewer-label = The trailer in three dimensions. Arrow keys turn it, plus and minus zoom, Home begins again.
viewer-none = This browser shows no 3-D. The picture of the trailer stands in its place.
viewer-failed = The 3-D view could not be fetched. The picture of the trailer stands in its place.
viewer-layers = What is shown
viewer-frame = Frame only
viewer-deck = With deck
viewer-loads = With loads
drawing-bed = bed { $length }
drawing-overall = overall { $length }
drawing-track = track { $length }
drawing-deck = deck { $length }
drawing-coupling = coupling { $length }
drawing-coupling-to-axle = coupling to axle { $length }
drawing-centre = centre of gravity, empty
drawing-wheel = wheel
drawing-larger = Larger
drawing-coupling-here = coupling
drawing-described = Bed { $bed-length } long and { $bed-width } wide, drawbar { $drawbar }, axle { $axle } behind the coupling, overall { $length } by { $width }.
about-frame = Frame
frame = { $stack ->
    [flush] Welded steel frame, the drawbar level with it.
   *[stacked] Welded steel frame on top of the drawbar.
}
about-drawbar = Drawbar
drawbar = { $form ->
    [pole] One pole in the middle.
   *[a-frame] Two legs that meet at the coupling (A-frame).
}
about-deck = Deck
deck = { $material ->
    [mesh-ply] Plywood with a non-slip face, { $thickness }.
    [exterior-ply] Weatherproof plywood, { $thickness }.
    [tread-steel] Steel tread plate, { $thickness }.
    [tread-aluminium] Aluminium tread plate, { $thickness }.
    [hardwood-boards] Hardwood boards, { $thickness }.
    [expanded-metal] Expanded metal, open to water and dirt, { $thickness }.
    [sheet-aluminium] Aluminium sheet, { $thickness }.
    [galvanised-sheet] Galvanised sheet, { $thickness }.
   *[sheet-steel] Steel sheet, { $thickness }.
}
about-suspension = Axle
suspension = { $suspension ->
    [leaf] Leaf springs, tyres { $tyre }.
    [coil-links] Coil springs on links, tyres { $tyre }.
    [from-vehicle] Axle taken from a vehicle, tyres { $tyre }.
   *[rubber-torsion] Rubber torsion axle, tyres { $tyre }.
}
about-axles = Axles
axles = { $count }, one behind the other.
about-brakes = Brakes
brakes = { $brakes ->
    [none] None of its own.
    [over-run] Overrun brakes, which work when the trailer pushes.
   *[electric] Electric brakes; your vehicle needs a brake controller.
}
about-sides = Sides
sides = { $form ->
    [rails] Rails, { $height } high.
    [sheeted] Closed, { $height } high.
   *[mesh] Mesh, { $height } high.
}
about-front = Front
front = { $form ->
    [board] A board that loads can stand against.
   *[stone-guard] A stone guard.
}
about-ramp = Ramp
ramp = { $ramp ->
    [loose] Loose, stowed under the bed.
   *[hinged] Hinged, and the tailgate too.
}
about-coupling = Coupling
coupling = { $form ->
    [ball-50] For a 50 mm tow ball.
    [ball-1-7-8] For a 1 7/8 in tow ball.
    [ball-2] For a 2 in tow ball.
    [ball-2-5-16] For a 2 5/16 in tow ball.
   *[eye] Towing eye, for a pin or jaw.
}
about-jockey = Jockey wheel
jockey = On the drawbar, to push the trailer by hand.
about-plug = Lamps
plug = With a plug of { $ways } pins.
about-spare = Spare wheel
spare = { $place ->
    [drawbar] On the drawbar.
    [front] At the front of the bed.
   *[under-bed] Under the bed.
}
about-finish = Finish
finish = { $system ->
    [none] Bare steel, without paint.
    [paint] Primer and top coat.
    [galvanised] Hot-dip galvanised.
   *[powder] Powder coated.
}
finish-colour = { $system ->
    [none] Bare steel, { $colour }.
    [paint] Primer and top coat, { $colour }.
    [galvanised] Hot-dip galvanised, { $colour }.
   *[powder] Powder coated, { $colour }.
}

## How to tie it down

tie-down-title = How to tie it down
hold-of = { $load }: { $how }
hold-none = no straps are asked for.
hold-direct = { $straps ->
    [one] one strap from the load to the lashing points, { $angle }.
   *[other] { $straps } straps from the load to the lashing points, half of them pulling forwards and half rearwards, { $angle }.
}
hold-over-top = { $straps ->
    [one] one strap over the top, at { $angle } to the deck or steeper, drawn tight.
   *[other] { $straps } straps over the top, spread along the load, at { $angle } to the deck or steeper, drawn tight.
}
hold-angle = about { $angle } to the deck
hold-angles = { $least } to { $most } to the deck
hold-no-point = but no lashing point is within reach
hold-rating = Each strap rated for { $mass }.
hold-chocks = Chock its wheels or feet.
hold-brake = Put its brake on; chocks would hold it better.
hold-front = Stand it against the front board.

## What you can choose

options-title = What you can choose
options-title-chosen = What you chose
options-free = As many as you like
options-set = One of these
options-none = As described
options-not-so = Not with what is chosen.
options-show = Show the price with these
options-total = , as described
options-total-with = , with: { $names }
options-refused = This cannot be had together. { $why }
options-firm = Each price is firm as long as the quote is valid: the whole trailer was worked out anew for every choice. The drawings show it as described.
options-described = As described, without options.
options-chosen = With: { $names }.
options-in-all = { $amount } in all
options-unknown = These cannot be chosen together. Please choose again.
options-not-with = It cannot be had with what is chosen.
options-head = Choice
options-about = What it is
options-price = Price
refused-unbuildable = It cannot be built so.
refused-strength = Frame or drawbar would not be strong enough.
refused-balance = Too much or too little would press on the tow ball.
refused-towing = Coupling, towing vehicle or brakes would be overloaded.
refused-running-gear = Axle, wheels or tyres would be overloaded.
refused-deck = The deck would not bear the load.
refused-loading = It could not be loaded safely.
refused-restraint = The load could not be tied down safely.
refused-electrics = The lamps could not be wired to this plug.
refused-road = It would not meet the rules of the road.
refused-other = It would fail one of our safety checks.
refused-no-price = We have no price for it yet: please ask.

## Price

price-title = Price
price-what = What
price-amount = Amount
price-frame = Frame and drawbar
price-body = Deck, sides and loading
price-running-gear = Axle, wheels and brakes
price-towing = Coupling and towing parts
price-electrics = Lamps and wiring
price-fittings = Fittings
price-finish = Finish
price-trailer = Trailer as described
price-trailers = { $count } trailers as described
price-delivery = Delivery
price-discount = Discount
price-rounding = Rounding
price-before-tax = Before tax
price-tax = { $name } { $percent }
price-total = Total
price-deposit = Deposit, { $percent }
earliest-collected = You can collect it { $days } working days after you accepted, paid the deposit and approved the drawing.
earliest-delivered = We deliver it { $days } working days after you accepted, paid the deposit and approved the drawing.
earliest-collected-day = You can collect it { $days } working days after you accepted, paid the deposit and approved the drawing: on { $day } at the earliest, if all of it is done today.
earliest-delivered-day = We deliver it { $days } working days after you accepted, paid the deposit and approved the drawing: on { $day } at the earliest, if all of it is done today.

## Please mind

cautions-title = Please mind
caution-no-certification = This quote is an estimate and a design aid, not a certification: local rules and the authority decide what may go on the road.
caution-engineer = Have a licensed engineer check the frame, the drawbar and the welds.
caution-law = Registration, brakes, lamps, weights and plates follow local law: ask the authority.
caution-weigh = Weights are worked out, not weighed. The finished trailer is weighed, and its plate follows the scales.
caution-vehicle = Never exceed what your vehicle may tow, nor what may press on its tow ball. Both stand in its papers.
caution-share = Load so that the tow ball is pressed down as stated: too little makes the trailer sway, too much overloads the vehicle.
caution-restraint = Use straps, lashing points and every other part only up to what is marked on them.
caution-wheels = Tighten the wheel nuts again after the first trip.
caution-road-more = { $count ->
    [one] One more point of the road rules is to be confirmed with the authority. We gladly tell you which.
   *[other] { $count } more points of the road rules are to be confirmed with the authority. We gladly tell you which.
}

## Of the road rules: papers to get and what to ask, by the rule's name in seed-data/road-rules.toml

road-gb-iva = Great Britain: before it goes on the road a new trailer needs an approval, for a single one the individual inspection (IVA) at DVSA. Some home-built ones need none: ask DVSA or VCA.
road-gb-reg = Great Britain: trailers are not registered at home. To go abroad, a commercial one above 750 kg has to be registered with DVLA.
road-eu-approve = European Union: a single trailer needs the individual approval of your country's authority before it is registered.
road-nl-reg = Netherlands: a trailer up to 750 kg carries the number of the vehicle that tows it. Ask RDW about its approval.
road-us-own = United States: a trailer that you built or had built for yourself is titled by your state, which gives it its number. Ask the motor-vehicle agency.
road-au-rover-few = Australia: the shop needs an entry approval for the trailer before it is supplied.
road-au-rover-many = Australia: the shop needs a type approval for its trailers before it is supplied.
road-nz-reg = New Zealand: it needs entry certification and registration, then a warrant of fitness.
road-in-reg = India: a trailer is registered like any motor vehicle, at the RTO.
road-in-type = India: ask the RTO which approval they want for a light trailer behind a car.

## Terms

terms-title = Terms
term-payment = Payment
term-warranty = Warranty
term-variation = Changes after acceptance
term-exclusions = Not included
term-title = Ownership
told-of = { $about }: { $text }

## Accept, decline

accept-title = Accept this quote
accept-described = The trailer as described, without options.
accept-with = The trailer with: { $names }.
accept-agree = I have read the terms and agree to them, and order the trailer at the price above.
accept-button = Accept for { $total }
accept-impossible = What is chosen above cannot be had together: choose again, then accept.
decline-title = No, thank you
decline-why = Why not? It helps us to do better.
decline-button = Decline the quote
your-name = Your name
your-name-hint = Whoever orders the trailer.
optional = You may leave this empty.

## Questions and answers

ask-title = Questions and answers
ask-none = Nothing was asked yet.
ask-question = Your question
ask-button = Send the question
ask-sent = Your message was sent to { $shop }. The answer will stand on this page.
name-erased = (name erased)

## What is wrong with a form

faults-title = Not sent yet: something needs a look
fault-empty = Nothing was entered: type it here.
fault-too-long = { $most ->
   *[other] This is too long: use at most { $most } characters.
}
fault-one-line = This must stand on one line, without special characters.
fault-agree = Please tick the box if you agree to the terms; without it the quote cannot be accepted.
fault-agree-label = Terms
fault-options = What is chosen cannot be had. { $why } Nothing was accepted: please choose again.
fault-moved-on = This quote cannot be answered any more: our work on it has moved on. Please get in touch.

## Links that show no quote

closed-expired = This quote is no longer valid
closed-expired-says = Its time has run out, because prices of steel and parts move. Ask us for a fresh one: it is little work.
closed-superseded = There is a newer quote
closed-superseded-says = We have made a newer quote for you. Please use the newest link that you were sent.
closed-revoked = This link is no longer used
closed-revoked-says = We have withdrawn this link. If you still want the trailer, please get in touch.
closed-unknown = There is no quote at this address
closed-unknown-says = Please open the link that you were sent, whole: its end may be missing.

## When something went wrong

error-answer = Answer { $status }.
error-unreadable = This could not be read
error-unreadable-says = What was sent could not be read. Nothing was changed: please go back and try again.
error-not-a-form = This could not be read
error-not-a-form-says = What was sent is not a form of this site. Nothing was changed.
error-foreign-page = Not sent from here
error-foreign-page-says = This was sent from a page that is not ours, so nothing was changed. Please open the page here and send it again.
error-no-page = Not found
error-no-page-says = Only quotes are shown at this address. Please open the link that you were sent, whole.
error-wrong-method = Not possible here
error-wrong-method-says = This address does not take requests of this kind. Nothing was changed.
error-too-large = Too large
error-too-large-says = What was sent is too large: a form may hold 1 MB. Nothing was changed: please go back and send less.
error-wrong-host = Not at this address
error-wrong-host-says = No quotes are shown at this address. Please open the link that you were sent, whole.
error-too-often = Please wait
error-too-often-says = { $seconds ->
    [one] So much was asked for from your address that it has to wait: please try again in one second.
   *[other] So much was asked for from your address that it has to wait: please try again in { $seconds } seconds.
}
error-our-fault = Our fault
error-our-fault-says = Something went wrong here, and we have a note of it. What was sent before is safe. Please try again.
error-not-kept = Not kept
error-not-kept-says = What you sent could not be saved, so nothing of it counts; what was sent before is safe. Please reload this page later: the browser then sends it again.
error-too-slow = Too slow
error-too-slow-says = This took too long and was stopped. What was sent before is safe. Please try again.

## On paper

paper-title = Quote: { $job }
paper-head = Quote · { $job }
paper-page = Page { $page } of { $of }
paper-chosen = Chosen with it: { $names }.

## On the shop's drawing sheets

drawing-drawbar = drawbar { $length }
drawing-axles = axles { $length }
drawing-frame = frame { $length }
drawing-ramp = ramp { $length }
sheet-caution = Design aid, not a certification: have a licensed engineer check frame and welds.
sheet-millimetres = millimetres
sheet-feet-and-inches = feet and inches
sheet-scale-printed = { $scale } if printed at 100 %
sheet-nth = { $nth } of { $of }
sheet-open = not issued
sheet-field-shop = shop
sheet-field-projection = projection
sheet-field-paper = paper
sheet-field-job = job
sheet-field-sheet = sheet
sheet-field-day = date of revision
sheet-field-title = title
sheet-field-number = drawing number
sheet-field-revision = revision
sheet-field-scale = scale
sheet-field-units = dimensions in
sheet-field-mass = mass
sheet-field-program = drawn by
sheet-first-angle = first-angle projection
sheet-third-angle = third-angle projection
sheet-document = Drawing: { $job }
sheet-arrangement = Arrangement
sheet-arrangement-all = Arrangement: side view, plan, rear view
sheet-arrangement-one = { $view ->
    [side] Arrangement: side view
    [plan] Arrangement: plan
   *[rear] Arrangement: rear view
}
sheet-view-side = Side view
sheet-view-plan = Plan
sheet-view-rear = Rear view
sheet-described = Bed { $bed-length } long and { $bed-width } wide, drawbar { $drawbar }, axle { $axle } behind the coupling, track { $track }, deck { $deck } and coupling { $coupling } above the ground, overall { $length } by { $width }.
sheet-note-centre = Ringed quarters: centre of gravity, empty,
sheet-note-centre-at = { $behind } behind the coupling, { $up } up
sheet-note-heaviest = Loaded: coupling { $coupling }, axle { $axle }
sheet-note-more-loads = { $count ->
    [one] and one more load
   *[other] and { $count } more loads
}
sheet-note-nothing = Nothing is built yet.
sheet-part = { $mark }: { $what }, { $count } off
sheet-bar-seen = { $from ->
    [depth] { $section } seen from the side
   *[width] { $section } seen from above
}
sheet-flat = { $what }
sheet-flat-folded = { $what }, folds laid out
sheet-outline = outline
sheet-window = window or second piece
sheet-hole = hole { $diameter }
sheet-hole-for = hole { $diameter }, { $purpose }
sheet-note-stuff = { $what }, { $count } off
sheet-note-long = Long point to long point { $length }
sheet-note-left = Left end: { $cut }
sheet-note-right = Right end: { $cut }
sheet-end-square = square
sheet-end-off-square = { $plane ->
    [depth] { $angle }° off square (across the depth)
   *[width] { $angle }° off square (across the width)
}
sheet-end-capped = { $cut }, capped
sheet-note-holes = { $count } × hole { $diameter }
sheet-note-holes-for = { $count } × hole { $diameter } ({ $purpose })
sheet-note-flat = { $length } × { $width } flat
sheet-note-folds = { $count ->
    [one] One fold; narrow line across the part
   *[other] { $count } folds; narrow lines across the part
}
hole-bolt = bolt
hole-pin = pin
hole-vent = vent or drain
hole-cable = cable
hole-fixing = deck fixing
member-side-rail = side rail
member-end-rail = end rail
member-cross-member = cross-member
member-trimmer = wheel-box trimmer
member-pole = drawbar pole
member-leg = drawbar leg
member-inner = telescopic inner tube
member-post = post
member-top-rail = top rail
member-mid-rail = middle rail
member-ramp-stile = ramp stile
member-ramp-rung = ramp rung
member-ramp-carrier = ramp carrier
member-prop-leg = prop-stand leg
member-guide-pole = reversing guide pole
member-mudguard-stay = mudguard stay
member-spare-arm = spare wheel arm
member-winch-post = winch post
member-bumper = rear bumper
panel-deck = deck sheet
panel-side = side sheet
panel-front = front sheet
panel-tailgate = tailgate sheet
panel-ramp-sheet = ramp sheet
panel-wheel-box = wheel-box sheet
panel-mudguard = mudguard sheet
panel-coupling-plate = coupling plate
panel-hanger-plate = hanger plate
panel-spring-seat = spring seat
panel-axle-plate = axle bracket plate
panel-pin-plate = pin plate
panel-gusset = gusset
panel-bracket = bracket
panel-lamp-bracket = lamp bracket
panel-ramp-lug = ramp lug
panel-cap = end cap
sheet-material-mesh-ply = phenolic mesh-faced plywood
sheet-material-exterior-ply = plain exterior plywood
sheet-material-tread-steel = steel tread plate
sheet-material-tread-aluminium = aluminium tread plate
sheet-material-hardwood-boards = hardwood boards
sheet-material-expanded-metal = expanded metal
sheet-material-sheet-steel = steel sheet
sheet-material-sheet-aluminium = aluminium sheet
sheet-material-galvanised-sheet = galvanised sheet

## To send

mail =
    Dear { $customer },

    our quote for “{ $job }” is ready. Please open this link to see it, to ask, and to accept it:

    { $link }

    It is valid until { $day }. The link is yours alone: whoever has it can read and answer the quote.

    { $shop }
