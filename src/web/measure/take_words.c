// SPDX-License-Identifier: MIT
// How a live take came in, in plain words of the user's language. The sheet itself keeps short
// names, by which papers and older sheets are read.
#include "web/measure/sheet_view.h"

#include "web/server/words.h"

#include <stddef.h>
#include <string.h>

static const struct {
    const char *kept, *said;
} words[] = {
    {"How the take came in", N_("How the sound came in")},
    {"Input", N_("Sound input")},
    {"Known to the sound server as", N_("What the computer calls it")},
    {"Rate", N_("Samples a second")},
    {"Channels", N_("Channels")},
    {"Samples", N_("Size of each sample")},
    {"Resampled", N_("Samples a second were changed on the way")},
    {"Resampled to", N_("Samples a second were changed to")},
    {"Sound lost", N_("Sound that never came")},
    {"Places where it was lost", N_("In how many places")},
    {"Clock fast by", N_("The input's clock runs fast by")},
    {"Clock", N_("Error of the input's clock")},
    {"Level changed by", N_("The computer changed the level by")},
    {"Muted", N_("The computer muted it")},
    {"What", N_("What")},
    {"Value", N_("Value")},
    {"Unit", N_("Unit")},
    {"bits", N_("bits")},
    {"yes", N_("yes")},
    {"no", N_("no")},
    {"not told", N_("the computer does not say")},
    {"not known", N_("not known: it takes two minutes without a gap")},
    {"asked not to; the sound server does not tell",
     N_("it was asked not to; the computer does not say whether it did")},
    {"test tone", N_("test tone")},
    {"a recording that was played", N_("a recording that was played")},
};

const char *dw_take_words(const char *word)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(words[i].kept, word) == 0)
            return dw_words(words[i].said);
    return word;
}
