// SPDX-License-Identifier: MIT
// The transport card: how the deck is locked, and what to undo before it is used.
#include "report/papers.h"

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "transport", key);
}

// What locks a drive differs: a belt comes off, an idler is disengaged, a platter on its motor stays.
static const char *drive_key(const DwDossier *d)
{
    switch ((DwDrive)d->deck.drive) {
    case DW_DRIVE_BELT:
        return "lock.belt";
    case DW_DRIVE_IDLER:
        return "lock.idler";
    case DW_DRIVE_DIRECT:
        return "lock.direct";
    case DW_DRIVE_UNKNOWN:
    case DW_DRIVE_OTHER:
        return "lock.other";
    }
    return "lock.other";
}

static void add_lists(DwDossier *d)
{
    enum { LOCKS = 9, UNDOES = 6 };
    const char *const lock_keys[LOCKS] = {"lock.platter", drive_key(d), "lock.weight", "lock.guard", "lock.arm",
                                          "lock.chassis", "lock.oil",   "lock.cover",  "lock.box"};
    static const char *const undo_keys[UNDOES] = {"undo.chassis", "undo.arm",   "undo.platter",
                                                  "undo.weight",  "undo.guard", "undo.level"};
    const char *lock[LOCKS], *undo[UNDOES];
    for (size_t i = 0; i < LOCKS; i++)
        lock[i] = say(d, lock_keys[i]);
    for (size_t i = 0; i < UNDOES; i++)
        undo[i] = say(d, undo_keys[i]);
    dw_piece_checklists(d->flow, &(DwPieceChecklist){say(d, "lock"), lock, LOCKS},
                        &(DwPieceChecklist){say(d, "undo"), undo, UNDOES});
}

DwStatus dw_paper_transport(DwDossier *d, DwMessage *message)
{
    dw_dossier_add_head(d, say(d, "title"));
    DwStatus status = dw_dossier_add_unsafe(d, message);
    if (status != DW_OK)
        return status;
    dw_dossier_add_cautions(d, DW_CAUTIONS_OF_DECK, say(d, "caution"));
    add_lists(d);
    const char *present = d->deck.parts_present ? d->deck.parts_present : "";
    dw_dossier_add_section(d, "transport", "present", present);
    dw_dossier_add_section(d, "transport", "care", NULL);
    dw_piece_signature(d->flow, say(d, "signed"), dw_dossier_say(d, "paper", "date"), NULL);
    return DW_OK;
}
