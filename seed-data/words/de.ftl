# Alles, was ein Kunde liest, auf Deutsch; auch die Schreibweise von Zahlen. Format: Project Fluent (projectfluent.org).
# Die Datei eines Landes (de-CH.ftl) enthält nur, was von dieser abweicht.

## Schreibweise von Zahlen: Unicode CLDR 48, de-DE

language-name = Deutsch
decimal-mark = ,
group-mark = .
money-group-mark = .
# western, indian oder none
grouping = western
# $space steht zwischen einem Währungszeichen aus Buchstaben und den Ziffern.
money = { $amount }{"\u00A0"}{ $currency }
money-below-zero = −{ $amount }{"\u00A0"}{ $currency }
money-more = +{ $amount }
money-less = −{ $amount }
money-same = gleicher Preis
percent = { $number }{"\u00A0"}%
day = { $day }. { $month } { $year }
# $hour zählt bis 24, $hour-of-half bis 12, $half ist am oder pm.
moment = { $day }, { $hour }:{ $minute } Uhr
and-so-on = { $first }, { $next }
month-1 = Januar
month-2 = Februar
month-3 = März
month-4 = April
month-5 = Mai
month-6 = Juni
month-7 = Juli
month-8 = August
month-9 = September
month-10 = Oktober
month-11 = November
month-12 = Dezember

## Rund um die Seite

skip = Zum Inhalt springen
foot-caution = Keine Zulassung und kein Gutachten: Was auf die Straße darf, entscheiden die örtlichen Vorschriften und die Behörde. Lassen Sie tragende Teile von einem zugelassenen Ingenieur prüfen.
page-title = Ihr Angebot von { $shop }
quote-by = Ein Angebot von { $shop } für { $customer }. { $revision }, { $day }.
quote-by-open = Ein Angebot von { $shop }. { $revision }.
revision = Fassung { $number }
revision-open = Noch nicht abgegeben
as-pdf = Dieses Angebot als PDF
to-ask = Frage stellen
to-accept = Annehmen
waits-for-you = wartet auf Ihre Antwort
valid-until-left = Gültig bis { $day } ({ $left }).
valid-until = Dieses Angebot gilt bis { $day }.
left-over = die Frist ist abgelaufen
left-today = bis heute Abend
left-tomorrow = nur noch bis morgen
left-days = { $days ->
    [one] noch ein Tag
   *[other] noch { $days } Tage
}

## Antwort des Kunden und wie es weitergeht

accepted-title = Sie haben dieses Angebot angenommen
accepted-by = { $name } hat es am { $moment } angenommen.
accepted-next = { $shop } meldet sich bei Ihnen.
accepted-next-deposit = { $shop } meldet sich bei Ihnen wegen der Anzahlung.
declined-title = Sie haben dieses Angebot abgelehnt
declined-by = { $name } hat es am { $moment } abgelehnt. Danke für die Nachricht. Falls Sie es sich anders überlegen, schreiben Sie uns unten.
progress-title = So weit ist Ihr Anhänger
progress-accepted = Angenommen: Wir planen die Arbeit und bestellen, was gebraucht wird
progress-started = In der Werkstatt: Ihr Anhänger wird gebaut
progress-handed-over = Übergeben: Wir wünschen gute Fahrt
progress-since = am { $day }
progress-next = kommt noch

## Auf einen Blick

lead = Er trägt bis zu { $payload }, wiegt leer etwa { $empty } und belastet Ihre Anhängekupplung mit bis zu { $coupling }.
figure-price = Preis
with-tax = inkl. Steuer
figure-empty = Leermasse
figure-empty-note = berechnet, nicht gewogen
figure-gross = Zulässige Gesamtmasse
figure-gross-note = steht auf dem Typschild
figure-payload = Nutzlast
figure-coupling = Stützlast
figure-coupling-note = höchstens
figure-bed-length = Länge der Ladefläche
figure-bed-width = Breite der Ladefläche
figure-bed-height = Ladehöhe über Boden
figure-bed-height-note = unbeladen
figure-length = Gesamtlänge
figure-width = Gesamtbreite

## Was sich gegenüber einem früheren Angebot geändert hat

changed-title = Was sich seit Fassung { $number } geändert hat
changed-nothing = Nichts, was Sie bemerken würden: Das Angebot wurde mit denselben Zahlen neu abgegeben.
changed-inside = Einzelheiten der Bauweise haben sich geändert, zum Beispiel Maße von Rohren. Wir nennen sie Ihnen gern.
changed-what = Was
changed-before = Bisher
changed-now = Jetzt
changed-not-there = nicht vorhanden
changed-gone = entfällt
changed-asked = Was Sie brauchen
changed-gets = Was Sie bekommen
changed-figures = Maße und Gewichte
changed-price = Preis
changed-terms = Bedingungen

## Was der Kunde braucht

asked-title = Was Sie brauchen
asked-load = Er trägt: { $load }, { $mass }, { $length } lang, { $width } breit, { $height } hoch.
about-load = Ladung: { $load }
asked-trip = Auf einer Fahrt trägt er zusammen: { $loads }.
asked-trip-named = { $trip }: Er trägt zusammen { $loads }.
about-trip = Fahrt
asked-vehicles = Zugfahrzeuge: { $vehicles }.
about-vehicles = Zugfahrzeuge
asked-road = { $road ->
    [sealed] Er fährt auf befestigten Straßen.
    [gravel] Er fährt auch auf Schotterwegen.
   *[rough] Er fährt auch auf unbefestigten Wegen.
}
asked-road-salt = { $road ->
    [sealed] Er fährt auf befestigten Straßen, auch am Meer oder im Salzwasser.
    [gravel] Er fährt auch auf Schotterwegen, am Meer oder im Salzwasser.
   *[rough] Er fährt auch auf unbefestigten Wegen, am Meer oder im Salzwasser.
}
about-road = Wege
asked-count = { $count } Anhänger, alle gleich.
about-count = Stückzahl

## Was der Kunde bekommt

gets-title = Was Sie bekommen
view-plan = Von oben
view-side = Von der Seite
view-whole = Der fertige Anhänger
view-whole-described = Der ganze Anhänger ohne Ladung, von vorn links oben gesehen.
viewer-open = In 3-D drehen
viewer-fetching = Der Anhänger wird geholt …
viewer-help = Seitlich ziehen oder Pfeiltasten drehen den Anhänger. Antippen oder Anklicken, dann dreht er sich nach allen Seiten und kommt mit Rad oder zwei Fingern näher; Esc oder ein Tipp daneben lässt die Seite wieder rollen. + und − holen ihn näher oder rücken ihn weg, Pos1 beginnt von vorn.
viewer-label = Der Anhänger in drei Dimensionen. Pfeiltasten drehen ihn, Plus und Minus holen ihn näher oder rücken ihn weg, Pos1 beginnt von vorn.
viewer-none = Dieser Browser zeigt kein 3-D. An seiner Stelle steht das Bild des Anhängers.
viewer-failed = Die 3-D-Ansicht ließ sich nicht holen. An ihrer Stelle steht das Bild des Anhängers.
viewer-layers = Was zu sehen ist
viewer-frame = Nur Rahmen
viewer-deck = Mit Aufbau
viewer-loads = Mit Ladung
drawing-bed = Ladefläche { $length }
drawing-overall = gesamt { $length }
drawing-track = Spur { $length }
drawing-deck = Ladehöhe { $length }
drawing-coupling = Kupplung { $length }
drawing-coupling-to-axle = Kupplung bis Achse { $length }
drawing-centre = Schwerpunkt, leer
drawing-wheel = Rad
drawing-larger = Größer
drawing-coupling-here = Kupplung
drawing-described = Ladefläche { $bed-length } lang und { $bed-width } breit, Deichsel { $drawbar }, Achse { $axle } hinter der Kupplung, gesamt { $length } mal { $width }.
about-frame = Rahmen
frame = { $stack ->
    [flush] Geschweißter Stahlrahmen, die Deichsel auf gleicher Höhe.
   *[stacked] Geschweißter Stahlrahmen, auf die Deichsel gesetzt.
}
about-drawbar = Deichsel
drawbar = { $form ->
    [pole] Rohrdeichsel: ein Rohr in der Mitte.
   *[a-frame] V-Deichsel: zwei Holme, die an der Kupplung zusammenlaufen.
}
about-deck = Boden
deck = { $material ->
    [mesh-ply] Siebdruckplatte, rutschhemmend, { $thickness }.
    [exterior-ply] Wetterfestes Sperrholz, { $thickness }.
    [tread-steel] Riffelblech aus Stahl, { $thickness }.
    [tread-aluminium] Riffelblech aus Aluminium, { $thickness }.
    [hardwood-boards] Hartholzbohlen, { $thickness }.
    [expanded-metal] Streckgitter, lässt Wasser und Schmutz durch, { $thickness }.
    [sheet-aluminium] Aluminiumblech, { $thickness }.
    [galvanised-sheet] Verzinktes Blech, { $thickness }.
   *[sheet-steel] Stahlblech, { $thickness }.
}
about-suspension = Achse
suspension = { $suspension ->
    [leaf] Blattfederachse, Reifen { $tyre }.
    [coil-links] Schraubenfedern an Längslenkern, Reifen { $tyre }.
    [from-vehicle] Achse aus einem Fahrzeug, Reifen { $tyre }.
   *[rubber-torsion] Gummifederachse, Reifen { $tyre }.
}
about-axles = Achsen
axles = { $count } hintereinander.
about-brakes = Bremse
brakes = { $brakes ->
    [none] Ungebremst.
    [over-run] Auflaufbremse, die wirkt, wenn der Anhänger aufläuft.
   *[electric] Elektrische Bremse; Ihr Zugfahrzeug braucht ein Bremssteuergerät.
}
about-sides = Seiten
sides = { $form ->
    [rails] Reling, { $height } hoch.
    [sheeted] Geschlossene Bordwände, { $height } hoch.
   *[mesh] Gitterwände, { $height } hoch.
}
about-front = Stirnseite
front = { $form ->
    [board] Stirnwand, an die Ladung gestellt werden kann.
   *[stone-guard] Steinschlagschutz.
}
about-ramp = Rampe
ramp = { $ramp ->
    [loose] Lose, unter der Ladefläche verstaut.
   *[hinged] Klappbar, zugleich Heckklappe.
}
about-coupling = Kupplung
coupling = { $form ->
    [ball-50] Für eine Kupplungskugel von 50 mm.
    [ball-1-7-8] Für eine Kupplungskugel von 1 7/8 Zoll.
    [ball-2] Für eine Kupplungskugel von 2 Zoll.
    [ball-2-5-16] Für eine Kupplungskugel von 2 5/16 Zoll.
   *[eye] Zugöse, für Bolzen oder Maulkupplung.
}
about-jockey = Stützrad
jockey = An der Deichsel, zum Rangieren von Hand.
about-plug = Beleuchtung
plug = Mit { $ways }-poligem Stecker.
about-spare = Ersatzrad
spare = { $place ->
    [drawbar] Auf der Deichsel.
    [front] Vorn an der Ladefläche.
   *[under-bed] Unter der Ladefläche.
}
about-finish = Oberfläche
finish = { $system ->
    [none] Blanker Stahl, ohne Anstrich.
    [paint] Grundiert und lackiert.
    [galvanised] Feuerverzinkt.
   *[powder] Pulverbeschichtet.
}
finish-colour = { $system ->
    [none] Blanker Stahl, { $colour }.
    [paint] Grundiert und lackiert, { $colour }.
    [galvanised] Feuerverzinkt, { $colour }.
   *[powder] Pulverbeschichtet, { $colour }.
}

## Ladungssicherung

tie-down-title = So sichern Sie die Ladung
hold-of = { $load }: { $how }
hold-none = keine Zurrgurte gefordert.
hold-direct = { $straps ->
    [one] ein Zurrgurt von der Ladung zu den Zurrpunkten, { $angle }.
   *[other] { $straps } Zurrgurte von der Ladung zu den Zurrpunkten, je zur Hälfte nach vorn und nach hinten gespannt, { $angle }.
}
hold-over-top = { $straps ->
    [one] ein Zurrgurt zum Niederzurren, mindestens { $angle } zum Ladeboden, straff gespannt.
   *[other] { $straps } Zurrgurte zum Niederzurren, über die Länge verteilt, mindestens { $angle } zum Ladeboden, straff gespannt.
}
hold-angle = etwa { $angle } zum Ladeboden
hold-angles = { $least } bis { $most } zum Ladeboden
hold-no-point = doch kein Zurrpunkt ist in Reichweite
hold-rating = Jeder Gurt zugelassen für { $mass }.
hold-chocks = Räder oder Füße mit Keilen sichern.
hold-brake = Feststellbremse anziehen; Keile hielten besser.
hold-front = An die Stirnwand stellen.

## Auswahl

options-title = Was Sie wählen können
options-title-chosen = Was Sie gewählt haben
options-free = So viele Sie möchten
options-set = Eines davon
options-none = Wie beschrieben
options-not-so = Nicht mit dem, was gewählt ist.
options-show = Preis mit dieser Auswahl zeigen
options-total = , wie beschrieben
options-total-with = , mit: { $names }
options-refused = Das geht nicht zusammen. { $why }
options-firm = Jeder Preis ist fest, solange das Angebot gilt: Für jede Auswahl wurde der ganze Anhänger neu berechnet. Die Zeichnungen zeigen ihn wie beschrieben.
options-described = Wie beschrieben, ohne Zusätze.
options-chosen = Mit: { $names }.
options-in-all = insgesamt { $amount }
options-unknown = Das lässt sich nicht zusammen wählen. Bitte wählen Sie neu.
options-not-with = Mit dem, was gewählt ist, nicht möglich.
options-head = Auswahl
options-about = Was es ist
options-price = Preis
refused-unbuildable = So lässt er sich nicht bauen.
refused-strength = Rahmen oder Deichsel wären nicht fest genug.
refused-balance = Die Stützlast wäre zu groß oder zu klein.
refused-towing = Kupplung, Zugfahrzeug oder Bremse wären überlastet.
refused-running-gear = Achse, Räder oder Reifen wären überlastet.
refused-deck = Der Boden würde die Ladung nicht tragen.
refused-loading = Er ließe sich nicht sicher beladen.
refused-restraint = Die Ladung ließe sich nicht sicher befestigen.
refused-electrics = Die Beleuchtung passt nicht zu diesem Stecker.
refused-road = Er entspräche nicht den Vorschriften für die Straße.
refused-other = Eine unserer Sicherheitsprüfungen wäre nicht bestanden.
refused-no-price = Dafür haben wir noch keinen Preis: Bitte fragen Sie uns.

## Preis

price-title = Preis
price-what = Was
price-amount = Betrag
price-frame = Rahmen und Deichsel
price-body = Boden, Seiten und Laden
price-running-gear = Achse, Räder und Bremse
price-towing = Kupplung und Zugteile
price-electrics = Beleuchtung und Kabel
price-fittings = Anbauteile
price-finish = Oberfläche
price-trailer = Anhänger wie beschrieben
price-trailers = { $count } Anhänger wie beschrieben
price-delivery = Lieferung
price-discount = Nachlass
price-rounding = Rundung
price-before-tax = Nettobetrag
price-tax = { $name } { $percent }
price-total = Gesamtbetrag
price-deposit = Anzahlung, { $percent }
earliest-collected = Sie können ihn { $days } Arbeitstage nach Annahme, Anzahlung und Freigabe der Zeichnung abholen.
earliest-delivered = Wir liefern ihn { $days } Arbeitstage nach Annahme, Anzahlung und Freigabe der Zeichnung.
earliest-collected-day = Sie können ihn { $days } Arbeitstage nach Annahme, Anzahlung und Freigabe der Zeichnung abholen: frühestens am { $day }, wenn alles heute geschieht.
earliest-delivered-day = Wir liefern ihn { $days } Arbeitstage nach Annahme, Anzahlung und Freigabe der Zeichnung: frühestens am { $day }, wenn alles heute geschieht.

## Bitte beachten

cautions-title = Bitte beachten Sie
caution-no-certification = Dieses Angebot ist eine Schätzung und eine Entwurfshilfe, kein Gutachten: Was auf die Straße darf, entscheiden die örtlichen Vorschriften und die Behörde.
caution-engineer = Lassen Sie Rahmen, Deichsel und Schweißnähte von einem zugelassenen Ingenieur prüfen.
caution-law = Zulassung, Bremsen, Beleuchtung, Gewichte und Schilder richten sich nach örtlichem Recht: Fragen Sie die Behörde.
caution-weigh = Gewichte sind berechnet, nicht gewogen. Der fertige Anhänger wird gewogen, sein Typschild richtet sich nach der Waage.
caution-vehicle = Überschreiten Sie nie die Anhängelast und die Stützlast Ihres Zugfahrzeugs. Beide stehen in seinen Papieren.
caution-share = Laden Sie so, dass die genannte Stützlast eingehalten wird: Bei zu wenig schlingert der Anhänger, zu viel überlastet das Zugfahrzeug.
caution-restraint = Belasten Sie Gurte, Zurrpunkte und alle anderen Teile nur so hoch, wie darauf angegeben ist.
caution-wheels = Ziehen Sie die Radmuttern nach der ersten Fahrt nach.
caution-road-more = { $count ->
    [one] Ein weiterer Punkt der Straßenvorschriften ist noch mit der Behörde zu klären. Wir nennen ihn Ihnen gern.
   *[other] { $count } weitere Punkte der Straßenvorschriften sind noch mit der Behörde zu klären. Wir nennen sie Ihnen gern.
}

## Aus den Straßenvorschriften: Papiere und was zu fragen ist, nach dem Namen der Regel in seed-data/road-rules.toml

road-gb-iva = Großbritannien: Bevor er auf die Straße geht, braucht ein neuer Anhänger eine Genehmigung, ein einzelner die Einzelabnahme (IVA) bei der DVSA. Manche Eigenbauten brauchen keine: Fragen Sie DVSA oder VCA.
road-gb-reg = Großbritannien: Im Inland werden Anhänger nicht zugelassen. Für Fahrten ins Ausland muss ein gewerblicher über 750 kg bei der DVLA angemeldet werden.
road-eu-approve = Europäische Union: Ein einzelner Anhänger braucht vor der Zulassung die Einzelgenehmigung der Behörde Ihres Landes.
road-nl-reg = Niederlande: Ein Anhänger bis 750 kg trägt das Kennzeichen des Zugfahrzeugs. Fragen Sie das RDW nach der Genehmigung.
road-us-own = Vereinigte Staaten: Für einen Anhänger, den Sie selbst bauen oder für sich bauen lassen, stellt Ihr Bundesstaat die Papiere aus und vergibt die Nummer. Fragen Sie die Kfz-Behörde.
road-au-rover-few = Australien: Die Werkstatt braucht vor der Übergabe eine Einzelgenehmigung für den Anhänger.
road-au-rover-many = Australien: Die Werkstatt braucht vor der Übergabe eine Typgenehmigung für ihre Anhänger.
road-nz-reg = Neuseeland: Er braucht eine Erstabnahme und eine Zulassung, danach regelmäßige Prüfungen (warrant of fitness).
road-in-reg = Indien: Ein Anhänger wird wie jedes Kraftfahrzeug bei der RTO zugelassen.
road-in-type = Indien: Fragen Sie die RTO, welche Genehmigung sie für einen leichten Anhänger hinter einem Pkw verlangt.

## Bedingungen

terms-title = Bedingungen
term-payment = Zahlung
term-warranty = Gewährleistung
term-variation = Änderungen nach der Annahme
term-exclusions = Nicht enthalten
term-title = Eigentum
told-of = { $about }: { $text }

## Annehmen, ablehnen

accept-title = Angebot annehmen
accept-described = Der Anhänger wie beschrieben, ohne Zusätze.
accept-with = Der Anhänger mit: { $names }.
accept-agree = Ich habe die Bedingungen gelesen, stimme ihnen zu und bestelle den Anhänger zum oben genannten Preis.
accept-button = Für { $total } annehmen
accept-impossible = Was oben gewählt ist, geht nicht zusammen: Wählen Sie neu, dann nehmen Sie an.
decline-title = Nein, danke
decline-why = Warum nicht? Das hilft uns, besser zu werden.
decline-button = Angebot ablehnen
your-name = Ihr Name
your-name-hint = Wer den Anhänger bestellt.
optional = Dieses Feld darf leer bleiben.

## Fragen und Antworten

ask-title = Fragen und Antworten
ask-none = Noch keine Fragen.
ask-question = Ihre Frage
ask-button = Frage senden
ask-sent = Ihre Nachricht ist bei { $shop } angekommen. Die Antwort wird auf dieser Seite stehen.
name-erased = (Name gelöscht)

## Was an einem Formular nicht stimmt

faults-title = Noch nicht gesendet: Bitte sehen Sie noch einmal nach
fault-empty = Hier fehlt eine Angabe.
fault-too-long = { $most ->
   *[other] Das ist zu lang: höchstens { $most } Zeichen.
}
fault-one-line = Das muss in einer Zeile stehen, ohne Sonderzeichen.
fault-agree = Bitte kreuzen Sie das Kästchen an, wenn Sie den Bedingungen zustimmen; ohne das lässt sich das Angebot nicht annehmen.
fault-agree-label = Bedingungen
fault-options = Diese Auswahl ist nicht möglich. { $why } Es wurde nichts angenommen: Bitte wählen Sie neu.
fault-moved-on = Auf dieses Angebot lässt sich nicht mehr antworten: Unsere Arbeit daran ist weiter. Bitte melden Sie sich bei uns.

## Links ohne Angebot

closed-expired = Dieses Angebot gilt nicht mehr
closed-expired-says = Seine Frist ist abgelaufen, denn die Preise für Stahl und Teile ändern sich. Fragen Sie uns nach einem neuen: Das macht wenig Mühe.
closed-superseded = Es gibt ein neueres Angebot
closed-superseded-says = Wir haben Ihnen ein neueres Angebot gemacht. Bitte benutzen Sie den neuesten Link, den Sie erhalten haben.
closed-revoked = Dieser Link gilt nicht mehr
closed-revoked-says = Wir haben diesen Link zurückgezogen. Wenn Sie den Anhänger noch wünschen, melden Sie sich bitte bei uns.
closed-unknown = Unter dieser Adresse gibt es kein Angebot
closed-unknown-says = Bitte öffnen Sie den Link, den Sie erhalten haben, vollständig: Vielleicht fehlt sein Ende.

## Wenn etwas schiefging

error-answer = Antwort { $status }.
error-unreadable = Das war nicht zu lesen
error-unreadable-says = Was gesendet wurde, war nicht zu lesen. Es wurde nichts geändert: Bitte gehen Sie zurück und versuchen Sie es noch einmal.
error-not-a-form = Das war nicht zu lesen
error-not-a-form-says = Was gesendet wurde, ist kein Formular dieser Seite. Es wurde nichts geändert.
error-foreign-page = Nicht von hier gesendet
error-foreign-page-says = Das kam von einer fremden Seite, daher wurde nichts geändert. Bitte öffnen Sie die Seite hier und senden Sie es noch einmal.
error-no-page = Nicht gefunden
error-no-page-says = Unter dieser Adresse gibt es nur Angebote. Bitte öffnen Sie den Link, den Sie erhalten haben, vollständig.
error-wrong-method = Hier nicht möglich
error-wrong-method-says = Diese Adresse nimmt solche Anfragen nicht an. Es wurde nichts geändert.
error-too-large = Zu viel auf einmal
error-too-large-says = Was gesendet wurde, ist zu viel: Ein Formular darf 1 MB enthalten. Es wurde nichts geändert: Bitte gehen Sie zurück und senden Sie weniger.
error-wrong-host = Nicht unter dieser Adresse
error-wrong-host-says = Unter dieser Adresse gibt es keine Angebote. Bitte öffnen Sie den Link, den Sie erhalten haben, vollständig.
error-too-often = Bitte warten
error-too-often-says = { $seconds ->
    [one] Von Ihrer Adresse kamen so viele Anfragen, dass sie warten muss: Bitte versuchen Sie es in einer Sekunde noch einmal.
   *[other] Von Ihrer Adresse kamen so viele Anfragen, dass sie warten muss: Bitte versuchen Sie es in { $seconds } Sekunden noch einmal.
}
error-our-fault = Unser Fehler
error-our-fault-says = Hier ging etwas schief, und wir haben es festgehalten. Was zuvor gesendet wurde, ist sicher. Bitte versuchen Sie es noch einmal.
error-not-kept = Nicht gespeichert
error-not-kept-says = Was Sie gesendet haben, konnten wir nicht speichern, nichts davon gilt; was zuvor gesendet wurde, ist sicher. Bitte laden Sie diese Seite später neu: Der Browser sendet es dann noch einmal.
error-too-slow = Zu langsam
error-too-slow-says = Das dauerte zu lange und wurde beendet. Was zuvor gesendet wurde, ist sicher. Bitte versuchen Sie es noch einmal.

## Auf Papier

paper-title = Angebot: { $job }
paper-head = Angebot · { $job }
paper-page = Seite { $page } von { $of }
paper-chosen = Dazu gewählt: { $names }.

## Auf den Zeichnungsblättern der Werkstatt

drawing-drawbar = Deichsel { $length }
drawing-axles = Achsen { $length }
drawing-frame = Rahmen { $length }
drawing-ramp = Rampe { $length }
sheet-caution = Entwurfshilfe, kein Gutachten: Ein zugelassener Ingenieur muss Rahmen und Nähte prüfen.
sheet-millimetres = Millimeter
sheet-feet-and-inches = Fuß und Zoll
sheet-scale-printed = { $scale } bei Druck mit 100 %
sheet-nth = { $nth } von { $of }
sheet-open = Entwurf
sheet-field-shop = Werkstatt
sheet-field-projection = Projektion
sheet-field-paper = Papier
sheet-field-job = Auftrag
sheet-field-sheet = Blatt
sheet-field-day = Datum der Fassung
sheet-field-title = Benennung
sheet-field-number = Zeichnungsnummer
sheet-field-revision = Fassung
sheet-field-scale = Maßstab
sheet-field-units = Abmessungen in
sheet-field-mass = Masse
sheet-field-program = gezeichnet von
sheet-first-angle = Projektionsmethode 1
sheet-third-angle = Projektionsmethode 3
sheet-document = Zeichnung: { $job }
sheet-arrangement = Gesamtzeichnung
sheet-arrangement-all = Gesamtzeichnung: Seitenansicht, Draufsicht, Rückansicht
sheet-arrangement-one = { $view ->
    [side] Gesamtzeichnung: Seitenansicht
    [plan] Gesamtzeichnung: Draufsicht
   *[rear] Gesamtzeichnung: Rückansicht
}
sheet-view-side = Seitenansicht
sheet-view-plan = Draufsicht
sheet-view-rear = Rückansicht
sheet-described = Ladefläche { $bed-length } lang und { $bed-width } breit, Deichsel { $drawbar }, Achse { $axle } hinter der Kupplung, Spur { $track }, Ladehöhe { $deck } und Kupplung { $coupling } über dem Boden, gesamt { $length } mal { $width }.
sheet-note-centre = Kreis mit Vierteln: Schwerpunkt, leer,
sheet-note-centre-at = { $behind } hinter der Kupplung, { $up } hoch
sheet-note-heaviest = Beladen: Kupplung { $coupling }, Achse { $axle }
sheet-note-more-loads = { $count ->
    [one] und eine weitere Last
   *[other] und { $count } weitere Lasten
}
sheet-note-nothing = Noch ist nichts gebaut.
sheet-part = { $mark }: { $what }, { $count } Stück
sheet-bar-seen = { $from ->
    [depth] { $section } von der Seite gesehen
   *[width] { $section } von oben gesehen
}
sheet-flat = { $what }
sheet-flat-folded = { $what }, abgewickelt
sheet-outline = Umriss
sheet-window = Ausschnitt oder zweites Stück
sheet-hole = Loch { $diameter }
sheet-hole-for = Loch { $diameter }, { $purpose }
sheet-note-stuff = { $what }, { $count } Stück
sheet-note-long = Von langer zu langer Spitze { $length }
sheet-note-left = Linkes Ende: { $cut }
sheet-note-right = Rechtes Ende: { $cut }
sheet-end-square = rechtwinklig
sheet-end-off-square = { $plane ->
    [depth] Gehrung { $angle }° (Höhe)
   *[width] Gehrung { $angle }° (Breite)
}
sheet-end-capped = { $cut }, mit Kappe
sheet-note-holes = { $count } × Loch { $diameter }
sheet-note-holes-for = { $count } × Loch { $diameter } ({ $purpose })
sheet-note-flat = { $length } × { $width } flach
sheet-note-folds = { $count ->
    [one] Eine Kantung; schmale Linie über das Teil
   *[other] { $count } Kantungen; schmale Linien über das Teil
}
hole-bolt = Schraube
hole-pin = Bolzen
hole-vent = Lüftung oder Ablauf
hole-cable = Kabel
hole-fixing = Befestigung des Bodens
member-side-rail = Längsträger
member-end-rail = Endträger
member-cross-member = Querträger
member-trimmer = Wechsel am Radkasten
member-pole = Deichselrohr
member-leg = Deichselschenkel
member-inner = Auszug der Deichsel
member-post = Runge
member-top-rail = Obergurt
member-mid-rail = Mittelgurt
member-ramp-stile = Rampenholm
member-ramp-rung = Rampensprosse
member-ramp-carrier = Rampenträger
member-prop-leg = Abstellstütze
member-guide-pole = Peilstab
member-mudguard-stay = Kotflügelhalter
member-spare-arm = Reserveradhalter
member-winch-post = Windenbock
member-bumper = Heckschutz
panel-deck = Bodenplatte
panel-side = Seitenwand
panel-front = Stirnwand
panel-tailgate = Heckklappe
panel-ramp-sheet = Rampenblech
panel-wheel-box = Radkastenblech
panel-mudguard = Kotflügelblech
panel-coupling-plate = Kupplungsplatte
panel-hanger-plate = Federbockplatte
panel-spring-seat = Federsattel
panel-axle-plate = Achsbockplatte
panel-pin-plate = Bolzenplatte
panel-gusset = Knotenblech
panel-bracket = Halter
panel-lamp-bracket = Leuchtenhalter
panel-ramp-lug = Rampenlasche
panel-cap = Endkappe
sheet-material-mesh-ply = Siebdruckplatte
sheet-material-exterior-ply = Sperrholz, wetterfest
sheet-material-tread-steel = Stahl-Riffelblech
sheet-material-tread-aluminium = Aluminium-Riffelblech
sheet-material-hardwood-boards = Hartholzbohlen
sheet-material-expanded-metal = Streckmetall
sheet-material-sheet-steel = Stahlblech
sheet-material-sheet-aluminium = Aluminiumblech
sheet-material-galvanised-sheet = Verzinktes Blech

## Zum Versenden

mail =
    Guten Tag { $customer },

    unser Angebot für „{ $job }“ ist fertig. Bitte öffnen Sie diesen Link, um es zu lesen, zu fragen und es anzunehmen:

    { $link }

    Es gilt bis { $day }. Der Link ist nur für Sie: Wer ihn hat, kann das Angebot lesen und beantworten.

    { $shop }
