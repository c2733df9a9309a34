// SPDX-License-Identifier: MIT
#include "book/job/minutes.h"

#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"
#include "book/job/work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// Reads "20" or "20 .. 40".
static bool read_minutes(const char *text, int64_t *least, int64_t *most)
{
    char *end;
    long long low = strtoll(text, &end, 10), high = low;
    if (end == text || low < 1)
        return false;
    const char *rest = end + strspn(end, " ");
    if (strncmp(rest, "..", 2) == 0) {
        high = strtoll(rest + 2, &end, 10);
        if (end == rest + 2 || high < low)
            return false;
        rest = end + strspn(end, " ");
    }
    *least = low;
    *most = high;
    return !*rest;
}

static DwStatus take_line(DwMinutesWork *work, const DwKeyLine *line, const char *path, DwMessage *message)
{
    const DwField *drives = dw_field_find(&dw_deck_entity, "drive");
    int drive = dw_field_choice(drives, line->key);
    bool is_automatic = strcmp(line->key, "automatic") == 0;
    if (strcmp(line->key, "source") == 0) {
        dw_field_replace(&work->source, line->value);
        return DW_OK;
    }
    if (drive < 0 && !is_automatic)
        return dw_fail(message, DW_BAD_INPUT, "%s: line %u: \"%s\" is no drive. There are: %s, automatic, source.",
                       path, line->line, line->key, drives->choices);
    int64_t *least = is_automatic ? &work->automatic.least : &work->drives[drive].least;
    int64_t *most = is_automatic ? &work->automatic.most : &work->drives[drive].most;
    return read_minutes(line->value, least, most)
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT,
                         "%s: line %u: \"%s\" is no number of minutes, nor a range like 20 .. 40.", path, line->line,
                         line->value);
}

static DwStatus take_file(DwMinutesList *list, const DwKeyfile *file, const char *path, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < file->count && status == DW_OK; i++) {
        const DwKeyLine *line = &file->lines[i];
        if (i == 0 || strcmp(line->group, file->lines[i - 1].group) != 0) {
            list->works = dw_memory_resize(list->works, list->count + 1, sizeof *list->works);
            list->works[list->count++] = (DwMinutesWork){.name = dw_memory_text(line->group)};
        }
        status = take_line(&list->works[list->count - 1], line, path, message);
    }
    for (size_t i = 0; i < list->count && status == DW_OK; i++)
        if (!list->works[i].source || !*list->works[i].source)
            status =
                dw_fail(message, DW_BAD_INPUT, "%s: [%s] names no source. Write source = …, if only whose practice.",
                        path, list->works[i].name);
    return status;
}

DwStatus dw_minutes_list_read(const char *path, DwMinutesList *list, DwMessage *message)
{
    DwKeyfile file;
    DwMinutesList read = {0};
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status != DW_OK)
        return status;
    status = take_file(&read, &file, path, message);
    dw_keyfile_clear(&file);
    if (status == DW_OK)
        *list = read;
    else
        dw_minutes_list_clear(&read);
    return status;
}

void dw_minutes_list_clear(DwMinutesList *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->works[i].name);
        free(list->works[i].source);
    }
    free(list->works);
    *list = (DwMinutesList){0};
}

// How many words of LISTED begin words of NAME ("bearing", "bearings"): all of them, or 0.
// Words that only join others do not count.
static size_t match(const char *listed, const char *name)
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
    static const char *const joining[] = {"and", "or", "of", "its", "the"};
    size_t words = 0;
    while (*listed) {
        size_t length = strspn(listed, letters);
        bool counts = length > 0;
        for (size_t i = 0; i < sizeof joining / sizeof *joining; i++)
            counts = counts && !(strlen(joining[i]) == length && strncasecmp(listed, joining[i], length) == 0);
        if (counts && !dw_text_has_word(name, listed, length))
            return 0;
        words += counts;
        listed += length ? length : 1;
    }
    return words;
}

const DwMinutesWork *dw_minutes_list_find(const DwMinutesList *list, const char *name)
{
    const DwMinutesWork *found = NULL;
    size_t most = 0;
    for (size_t i = 0; i < list->count; i++) {
        size_t words = match(list->works[i].name, name);
        if (words > most)
            found = &list->works[i];
        most = words > most ? words : most;
    }
    return found;
}

static int64_t middle(int64_t least, int64_t most)
{
    return least == most ? least : ((least + most + 1) / 2 + 4) / 5 * 5;
}

// What the list says of the operation on a deck like this one.
static void offer_listed(const DwMinutesList *list, const char *name, const DwDeck *deck, DwMinutesOffer *offer)
{
    const DwMinutesWork *work = dw_minutes_list_find(list, name);
    if (!work)
        return;
    int64_t least = work->drives[deck->drive].least, most = work->drives[deck->drive].most;
    if (deck->operation >= DW_OPERATION_SEMI) {
        least += work->automatic.least;
        most += work->automatic.most;
    }
    offer->least = least;
    offer->most = most;
    offer->minutes = middle(least, most);
    offer->source = dw_memory_text(work->source);
}

DwStatus dw_minutes_offer(DwBook *book, const DwMinutesList *list, const char *name, int64_t deck_id,
                          DwMinutesOffer *offer, DwMessage *message)
{
    DwDeck deck;
    DwOperationHistory history;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = deck_id ? dw_record_load(book, &deck.record, deck_id, message) : DW_OK;
    char *drive = dw_field_word(dw_field_find(&dw_deck_entity, "drive"), deck.drive);
    if (status == DW_OK)
        status = dw_operation_history(book, name, deck_id ? drive : "", &history, message);
    free(drive);
    if (status == DW_OK) {
        *offer = (DwMinutesOffer){0};
        if (history.count >= DW_MINUTES_TIMES)
            *offer = (DwMinutesOffer){llround(history.mean_minutes), history.least_minutes, history.most_minutes,
                                      history.count, NULL};
        else
            offer_listed(list, name, &deck, offer);
        if (!offer->source)
            offer->source = dw_memory_text("");
    }
    dw_record_clear(&deck.record);
    return status;
}
