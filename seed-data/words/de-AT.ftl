# Deutsch in Österreich: Unicode CLDR 48, de-AT. Was hier fehlt, steht in de.ftl.

language-name = Deutsch (Österreich)
group-mark = {"\u00A0"}
money = { $currency }{"\u00A0"}{ $amount }
money-below-zero = −{ $currency }{"\u00A0"}{ $amount }
month-1 = Jänner
