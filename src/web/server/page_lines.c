// SPDX-License-Identifier: MIT
// What goes wrong is told at the command line with its keys, options and commands. Whoever reads a page has fields,
// lists and other pages, and is told so.
#include "web/server/private.h"

#include "web/server/words.h"

const DwPageLine dw_server_page_lines[] = {
    {"The %s has no %s (%s). Give it and save again.", N_("“%2$s” is missing. Give it and save again.%1$.0s%3$.0s")},
    {"%s: '%s' is not a number. Give it as in %s=%g%s.",
     N_("%1$s: “%2$s” is not a number. Give it as in %4$g%5$s.%3$.0s")},
    {"%s: '%s' needs two values with a colon between, as in %s=A%s:B%s.",
     N_("%1$s: “%2$s” needs two values with a colon between, as in A%4$s:B%5$s.%3$.0s")},
    {"%s: %s is out of range. %s can be from %g to %g%s%s.",
     N_("%1$s: %2$s is out of range. It can be from %4$g to %5$g%7$s.%3$.0s%6$.0s")},
    {"'%s' is not a known quantity. Did you mean %s?", N_("“%s” is nothing that can be noted here. Did you mean %s?")},
    {"'%s' is not a known quantity. 'deckwright help quantities' lists them all.",
     N_("“%s” is nothing that can be noted here. Choose one of the list.")},
    {"\"%s\" is nothing that all decks of a model share. 'deckwright model fields' lists what is.",
     N_("“%s” is nothing that all decks of a model share. Choose one of the list.")},
    {"'%s' is nothing that the guide asks. Did you mean %s?",
     N_("The guide does not ask that. Open its page anew.%1$.0s%2$.0s")},
    {"'%s' is nothing that the guide asks. 'deckwright guide list' shows what it does.",
     N_("The guide does not ask that. Open its page anew.%1$.0s")},
    {"%s: '%s' is no answer. Say yes, no or unknown, or open to take it back.",
     N_("“%2$s” is no answer. Choose one of those on the guide's page.%1$.0s")},
    {"No paper has a text \"%s\". 'deckwright report words' lists them all, as [group] and key; here they are written "
     "group.key.",
     N_("The papers have no such text. Choose one of those on the page.%1$.0s")},
    {"%s: the papers have no words in \"%s\", but in %s. For another language set paper.words first, to a file of the "
     "shop's own words.",
     N_("%s: the papers have no words in “%s”, but in %s. For another language set “Words of the papers” first, to a "
        "file of the shop's own words.")},
    {"\"%s\" was not edited on this job's paper \"%s\".",
     N_("This text was not edited for this job: it says what it said before.%1$.0s%2$.0s")},
    {"Say when it was measured: received, during or left.",
     N_("Say when it was measured: as received, during the work or as left.")},
    {"Write down what became of the deck: 'deckwright job dispose %04lld'.",
     N_("Write down first what became of the deck: “Notices, and decks left behind” has the form.%1$.0s")},
    {"Nothing says when the owner of job %s was told that the deck is ready. 'deckwright job add %s notice kind=ready "
     "sent_on=DAY' notes it.",
     N_("Nothing says when the owner of job %1$s was told that the deck is ready. “Notices, and decks left behind” "
        "notes it.%2$.0s")},
    {"Job %s has no intake yet. 'deckwright job add %s intake words=…' writes it down.",
     N_("Job %1$s has no intake yet. Begin it on the job's page.%2$.0s")},
    {0},
};
