// SPDX-License-Identifier: MIT
#include "report/standing.h"

#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/job/set_up.h"
#include "report/sentence/question.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Readings of one plain name are one thing: it goes by the first of them in the words' list.
static char *plain_thing(const DwDossier *d, const char *key)
{
    const char *name = dw_dossier_say(d, "names", key);
    char *keys = dw_memory_text(dw_dossier_say(d, "service", "numbers.first")), *rest = keys;
    char *thing = NULL;
    for (char *other; *name && !thing && (other = strsep(&rest, " ,"));)
        if (strcmp(dw_dossier_say(d, "names", other), name) == 0)
            thing = dw_memory_text(other);
    free(keys);
    return thing ? thing : dw_memory_text(key);
}

// What is one thing of one arm is another of another.
char *dw_standing_thing(const DwDossier *d, const char *key)
{
    char *plain = dw_arm_key_plain(key), *thing = plain_thing(d, plain), *named = thing;
    const char *arm = dw_arm_key_name(key);
    if (*arm) {
        named = dw_text_format("%s@%s", thing, arm);
        free(thing);
    }
    free(plain);
    return named;
}

// The thing that PAIR is a reading of, its arm's where a deck carries several.
static char *thing_of(const DwDossier *d, const DwPair *pair)
{
    const DwReading *reading = pair->after ? pair->after : pair->before;
    char *key = *pair->arm ? dw_text_format("%s@%s", reading->key, pair->arm) : dw_memory_text(reading->key);
    char *thing = dw_standing_thing(d, key);
    free(key);
    return thing;
}

static bool is_thing(const DwDossier *d, const char *key, const char *thing)
{
    char *own = dw_standing_thing(d, key);
    bool same = strcmp(own, thing) == 0;
    free(own);
    return same;
}

bool dw_standing_is_number(const DwReading *reading)
{
    return reading && !reading->word && isfinite(reading->value);
}

// Of the pairs of THING the one that was measured last as left; without any the first as received.
const DwPair *dw_standing_pair(const DwDossier *d, const char *thing)
{
    const DwPair *left = NULL, *received = NULL;
    for (size_t i = 0; i < d->comparison.count; i++) {
        const DwPair *pair = &d->comparison.pairs[i];
        const DwReading *reading = pair->after ? pair->after : pair->before;
        char *its = thing_of(d, pair);
        bool same = strcmp(its, thing) == 0;
        free(its);
        if (!same)
            continue;
        bool own = strcmp(reading->key, thing) == 0; // of several on one sheet the thing's own
        if (dw_standing_is_number(pair->after) &&
            (!left || pair->after_from->record.id - left->after_from->record.id + own > 0))
            left = pair;
        if (dw_standing_is_number(pair->before) && (!received || (own && strcmp(received->before->key, thing) != 0)))
            received = pair;
    }
    return left ? left : received;
}

// The setting of THING that was noted as left, when it is newer than PAIR's reading.
const DwReading *dw_standing_setting(const DwDossier *d, const char *thing, const DwPair *pair)
{
    const DwReading *found = NULL;
    for (size_t i = 0; i < d->left.count; i++) {
        const DwSetUp *set = (const DwSetUp *)dw_records_at(&d->left, i);
        bool newer = !pair || !pair->after_from || strcmp(set->at, pair->after_from->at) > 0;
        if (newer && is_thing(d, set->key, thing))
            found = dw_sheet_reading(d->noted, set->key);
    }
    return found;
}

// What counts for the owner's records; the rest counts for how the deck performs.
static DwAspect aspect_of(const char *key)
{
    bool presses = strncmp(key, "force.", 6) == 0 || strncmp(key, "skating.", 8) == 0;
    return presses ? DW_ASPECT_RECORDS : DW_ASPECT_PERFORMANCE;
}

static bool is_beyond(const DwReading *reading)
{
    return reading->verdict >= DW_VERDICT_ATTENTION && reading->verdict <= DW_VERDICT_UNSAFE;
}

// What stands of PAIR: the newer of setting and reading; what was measured as received only while nothing was
// measured as left and nothing was done since. NULL where it tells nothing of the deck as it is.
static const DwReading *standing_of(const DwDossier *d, const DwPair *pair)
{
    char *thing = thing_of(d, pair);
    const DwReading *set = d->noted ? dw_standing_setting(d, thing, pair) : NULL;
    const DwPair *last = dw_standing_pair(d, thing);
    bool still = !(last && last->after) && dw_question_worked.ask(d, NULL, NULL) != DW_YES;
    free(thing);
    return set ? set : pair->after ? pair->after : still ? pair->before : NULL;
}

const DwReading *dw_standing_next(const DwDossier *d, size_t *index)
{
    while (*index < d->comparison.count) {
        const DwReading *reading = standing_of(d, &d->comparison.pairs[(*index)++]);
        if (reading && dw_standing_is_number(reading))
            return reading;
    }
    return NULL;
}

const DwReading *dw_standing_beyond(const DwDossier *d, DwAspect aspect)
{
    const DwReading *worst = NULL;
    size_t index = 0;
    for (const DwReading *reading; (reading = dw_standing_next(d, &index));)
        if (is_beyond(reading) && aspect_of(reading->key) == aspect && (!worst || reading->verdict > worst->verdict))
            worst = reading;
    return worst;
}

bool dw_standing_judged(const DwDossier *d, DwAspect aspect)
{
    size_t index = 0;
    for (const DwReading *reading; (reading = dw_standing_next(d, &index));)
        if (reading->limit && aspect_of(reading->key) == aspect)
            return true;
    return false;
}

// Whose of several arms READING is of; "" for the deck's own.
static const char *arm_of(const DwDossier *d, const DwReading *reading)
{
    for (size_t i = 0; i < d->comparison.count; i++)
        if (d->comparison.pairs[i].before == reading || d->comparison.pairs[i].after == reading)
            return d->comparison.pairs[i].arm;
    return "";
}

char *dw_standing_reading_name(const DwDossier *d, const DwReading *reading)
{
    char *name = dw_standing_name(d, reading->key, reading->label);
    char *whole = dw_arm_key_label(name, arm_of(d, reading));
    free(name);
    return whole;
}

char *dw_standing_name(const DwDossier *d, const char *key, const char *label)
{
    char *plain = dw_arm_key_plain(key);
    const char *name = dw_dossier_say(d, "names", plain);
    char *text = *name ? dw_arm_key_label(name, dw_arm_key_name(key)) : dw_memory_text(label);
    free(plain);
    dw_text_begin_sentence(text);
    return text;
}

// A reading for another force than the one read says so at the end of its label; its name on paper has to as well.
static const char *name_at_wanted(const DwDossier *d, const char *key, const char *label)
{
    static const char tail[] = ", at the wanted force";
    size_t length = strlen(label);
    if (length < sizeof tail || strcmp(label + length - (sizeof tail - 1), tail) != 0)
        return "";
    char *own = dw_text_format("%s.wanted", key);
    const char *name = dw_dossier_say(d, "proof_names", own);
    free(own);
    return name;
}

const char *dw_standing_proof_name(const DwDossier *d, const char *key, const char *label)
{
    const char *wanted = name_at_wanted(d, key, label);
    if (*wanted)
        return wanted;
    const char *name = dw_dossier_say(d, "proof_names", key);
    if (!*name && !dw_paper_words_are_english(d->words))
        name = dw_dossier_say(d, "names", key);
    return *name ? name : label;
}

const char *dw_standing_label(const DwDossier *d, const char *label)
{
    const char *said = dw_dossier_say(d, "labels", label);
    return *said ? said : label;
}

char *dw_standing_all_beyond(const DwDossier *d)
{
    char **names = dw_memory_new(d->comparison.count + 1, sizeof *names);
    size_t index = 0, count = 0;
    for (const DwReading *reading; (reading = dw_standing_next(d, &index));) {
        char *name = is_beyond(reading) ? dw_standing_reading_name(d, reading) : NULL;
        bool known = !name;
        for (size_t i = 0; i < count && !known; i++)
            known = strcmp(names[i], name) == 0;
        if (known)
            free(name);
        else
            names[count++] = name;
    }
    char *list = dw_dossier_list(d, names, count);
    for (size_t i = 0; i < count; i++)
        free(names[i]);
    free(names);
    return list;
}
