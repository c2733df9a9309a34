// SPDX-License-Identifier: MIT
// Which of the arms and cartridges that are on a deck is meant: the deck's own, or that of one called by its name.
#ifndef DW_BOOK_DECK_FITTED_H
#define DW_BOOK_DECK_FITTED_H

#include "book/store/record.h"

// The id of the arm or cartridge (ENTITY) that the arm called ARM ("" for the deck's own) is or bears. An arm goes by
// its model, its serial or make and model; a cartridge by CARTRIDGE, else by what is noted of the arm as
// cartridge.name. Of what no name claims the last is the deck's own arm's. *ID is 0 for none.
DwStatus dw_deck_fitted(DwBook *book, const DwEntity *entity, int64_t deck, const char *arm, const char *cartridge,
                        int64_t *id, DwMessage *message);

#endif
