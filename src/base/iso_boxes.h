// SPDX-License-Identifier: MIT
#ifndef DW_BASE_ISO_BOXES_H
#define DW_BASE_ISO_BOXES_H

#include <stdbool.h>
#include <stdio.h>

// Whether FILE's boxes (ISO 14496-12) are all there to their ends and one describes a picture ("meta"): a HEIC that is
// cut off is not. FILE stands at its beginning after it.
bool dw_iso_boxes_whole(FILE *file);

#endif
