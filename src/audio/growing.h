// SPDX-License-Identifier: MIT
// A file that grows without a name in its own folder and takes its name when it is whole; whatever ends the program
// leaves nothing of it. Where the disk has no such files it grows under a temporary name. Within this folder only.
#ifndef DW_AUDIO_GROWING_H
#define DW_AUDIO_GROWING_H

#include "base/status.h"

typedef struct {
    char *path, *name; // NAME is the temporary one, NULL while there is none
    int descriptor;    // −1 when it is closed
} DwGrowing;

// Creates the file in the folder of PATH, with the rights a new file of the user's gets. On failure nothing is left but
// what dw_growing_drop() frees.
DwStatus dw_growing_open(const char *path, DwGrowing *growing, DwMessage *message);
// Puts it on the disk and gives it its name. Returned: NULL, or why not.
const char *dw_growing_keep(DwGrowing *growing);
// Closes it, takes away what was not kept and frees what GROWING holds.
void dw_growing_drop(DwGrowing *growing);

#endif
