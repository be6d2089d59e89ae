# Deutsch in der Schweiz: Unicode CLDR 48, de-CH. Was hier fehlt, steht in de.ftl.

language-name = Deutsch (Schweiz)
decimal-mark = .
group-mark = '
money-group-mark = '
money = { $currency }{"\u00A0"}{ $amount }
money-below-zero = { $currency }−{ $amount }
percent = { $number }%

## Ohne ß, wie in der Schweiz geschrieben wird

foot-caution = Keine Zulassung und kein Gutachten: Was auf die Strasse darf, entscheiden die örtlichen Vorschriften und die Behörde. Lassen Sie tragende Teile von einem zugelassenen Ingenieur prüfen.
changed-inside = Einzelheiten der Bauweise haben sich geändert, zum Beispiel Masse von Rohren. Wir nennen sie Ihnen gern.
changed-figures = Masse und Gewichte
asked-road = { $road ->
    [sealed] Er fährt auf befestigten Strassen.
    [gravel] Er fährt auch auf Schotterwegen.
   *[rough] Er fährt auch auf unbefestigten Wegen.
}
asked-road-salt = { $road ->
    [sealed] Er fährt auf befestigten Strassen, auch am Meer oder im Salzwasser.
    [gravel] Er fährt auch auf Schotterwegen, am Meer oder im Salzwasser.
   *[rough] Er fährt auch auf unbefestigten Wegen, am Meer oder im Salzwasser.
}
frame = { $stack ->
    [flush] Geschweisster Stahlrahmen, die Deichsel auf gleicher Höhe.
   *[stacked] Geschweisster Stahlrahmen, auf die Deichsel gesetzt.
}
hold-chocks = Räder oder Füsse mit Keilen sichern.
refused-balance = Die Stützlast wäre zu gross oder zu klein.
refused-loading = Er liesse sich nicht sicher beladen.
refused-restraint = Die Ladung liesse sich nicht sicher befestigen.
refused-road = Er entspräche nicht den Vorschriften für die Strasse.
caution-no-certification = Dieses Angebot ist eine Schätzung und eine Entwurfshilfe, kein Gutachten: Was auf die Strasse darf, entscheiden die örtlichen Vorschriften und die Behörde.
caution-engineer = Lassen Sie Rahmen, Deichsel und Schweissnähte von einem zugelassenen Ingenieur prüfen.
caution-road-more = { $count ->
    [one] Ein weiterer Punkt der Strassenvorschriften ist noch mit der Behörde zu klären. Wir nennen ihn Ihnen gern.
   *[other] { $count } weitere Punkte der Strassenvorschriften sind noch mit der Behörde zu klären. Wir nennen sie Ihnen gern.
}
road-gb-iva = Grossbritannien: Bevor er auf die Strasse geht, braucht ein neuer Anhänger eine Genehmigung, ein einzelner die Einzelabnahme (IVA) bei der DVSA. Manche Eigenbauten brauchen keine: Fragen Sie DVSA oder VCA.
road-gb-reg = Grossbritannien: Im Inland werden Anhänger nicht zugelassen. Für Fahrten ins Ausland muss ein gewerblicher über 750 kg bei der DVLA angemeldet werden.
road-nz-reg = Neuseeland: Er braucht eine Erstabnahme und eine Zulassung, danach regelmässige Prüfungen (warrant of fitness).
drawing-larger = Grösser
viewer-failed = Die 3-D-Ansicht liess sich nicht holen. An ihrer Stelle steht das Bild des Anhängers.
sheet-feet-and-inches = Fuss und Zoll
sheet-field-scale = Massstab
