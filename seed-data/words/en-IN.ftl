# Indian English: Unicode CLDR 48, locale en-IN. What is not here is as in en.ftl.

language-name = English (India)
grouping = indian
moment = { $day }, { $hour-of-half }:{ $minute } { $half }
