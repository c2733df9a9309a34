// SPDX-License-Identifier: MIT
#include "base/plan/side_measured.h"

#include "base/tongue.h"

#include <string.h>

static const char *const words[] = {
    N_("speed"),    N_("channels"),      N_("azimuth"),  N_("noise"),
    N_("response"), N_("arm resonance"), N_("tracking"), N_("intermodulation"),
};

// Sections whose word is another.
static const struct {
    const char *section, *word;
} others[] = {{"tone", "speed"},    {"flutter", "speed"},           {"revolution", "speed"},
              {"record", "speed"},  {"lowsweep", "arm resonance"},  {"cartridge", "response"},
              {"load", "response"}, {"intermod", "intermodulation"}};

static bool is_section(const char *key, const char *section)
{
    size_t length = strlen(section);
    return strncmp(key, section, length) == 0 && key[length] == '.';
}

const char *dw_side_measured_word(const char *key)
{
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (is_section(key, others[i].section))
            return others[i].word;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (is_section(key, words[i]))
            return words[i];
    return NULL;
}

bool dw_side_measured_lists(const char *list, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = list; at && (at = strstr(at, word)); at += length)
        if ((at == list || at[-1] == ' ') && (!at[length] || at[length] == ','))
            return true;
    return false;
}

const char *dw_side_measured_at(size_t index)
{
    return index < sizeof words / sizeof *words ? words[index] : NULL;
}
