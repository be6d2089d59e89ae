# American English: Unicode CLDR 48, locale en-US. What is not here is as in en.ftl.

language-name = English (United States)
day = { $month } { $day }, { $year }
moment = { $day }, { $hour-of-half }:{ $minute } { $half ->
    [am] AM
   *[pm] PM
}
