// SPDX-License-Identifier: MIT
// The transport card: how the deck is locked, and what to undo before it is used.
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <stdlib.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "transport", key);
}

enum { LINES_MOST = 16 };

// Those of KEYS whose sentences stand: what locks one drive would harm another.
static size_t choose(const DwDossier *d, const char *const *keys, char **lines)
{
    size_t count = 0;
    for (; *keys; keys++) {
        char *line = dw_sentence(d, "transport", *keys, NULL, NULL);
        if (*line)
            lines[count++] = line;
        else
            free(line);
    }
    return count;
}

static void add_lists(DwDossier *d)
{
    static const char *const lock_keys[] = {"lock.platter",
                                            "lock.platter.unknown",
                                            "lock.belt",
                                            "lock.idler",
                                            "lock.direct",
                                            "lock.other",
                                            "lock.unknown",
                                            "lock.weight",
                                            "lock.guard",
                                            "lock.arm",
                                            "lock.chassis",
                                            "lock.oil",
                                            "lock.cover",
                                            "lock.box",
                                            NULL};
    static const char *const undo_keys[] = {
        "undo.chassis",      "undo.arm",           "undo.belt",   "undo.idler", "undo.direct",
        "undo.other",        "undo.unknown",       "undo.weight", "undo.guard", "undo.level",
        "undo.level.unsafe", "undo.level.unknown", NULL};
    char *lock[LINES_MOST], *undo[LINES_MOST];
    size_t locks = choose(d, lock_keys, lock), undoes = choose(d, undo_keys, undo);
    dw_piece_checklists(d->flow, &(DwPieceChecklist){say(d, "lock"), (const char *const *)lock, locks},
                        &(DwPieceChecklist){say(d, "undo"), (const char *const *)undo, undoes});
    for (size_t i = 0; i < locks; i++)
        free(lock[i]);
    for (size_t i = 0; i < undoes; i++)
        free(undo[i]);
}

DwStatus dw_paper_transport(DwDossier *d, DwMessage *message)
{
    dw_dossier_add_head(d, say(d, "title"));
    DwStatus status = dw_dossier_add_unsafe(d, message);
    if (status != DW_OK)
        return status;
    char *caution = dw_sentence(d, "transport", "caution", NULL, NULL);
    dw_dossier_add_cautions(d, DW_CAUTIONS_OF_DECK, caution);
    free(caution);
    add_lists(d);
    const char *present = d->deck.parts_present ? d->deck.parts_present : "";
    dw_dossier_add_section(d, "transport", "present", present);
    dw_dossier_add_fixed(d, "transport", "care", NULL);
    dw_piece_signature(d->flow, say(d, "signed"), dw_dossier_say(d, "paper", "date"), NULL);
    return DW_OK;
}
