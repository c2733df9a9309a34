// SPDX-License-Identifier: MIT
// A box for what strangers' files are fed to: a process of its own, which may read, compute and answer through a pipe,
// and nothing else. A decoder that breaks down, hangs or was taken over costs one clear line.
//
// In the program: dw_box_open → dw_box_read … → dw_box_close. In the program that is boxed: dw_box_shut first of all,
// before anything of the file is looked at; then answers by dw_box_write.
#ifndef DW_BASE_BOX_H
#define DW_BASE_BOX_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct DwStrongBox DwStrongBox;

// Starts the program NAME that came with this one, with ARGUMENTS (NULL last; the first is its name).
// Status: DW_FAILED, with one line, where it is not there or cannot be started. The caller ends it with dw_box_close().
DwStatus dw_box_open(const char *name, const char *const *arguments, DwStrongBox **box, DwMessage *message);
// Reads COUNT bytes into BYTES, waiting for them. Returned: false when fewer came, because the box ended, fell silent,
// or was ended by the system.
bool dw_box_read(DwStrongBox *box, void *bytes, size_t count);
// Why a read failed: "the decoder broke down on it", in words that stand inside a sentence. Valid until the box is
// closed.
const char *dw_box_trouble(DwStrongBox *box);
// Ends the box, which may be NULL.
void dw_box_close(DwStrongBox *box);

// What the program in the box may use.
typedef struct {
    size_t memory_most;    // bytes
    unsigned seconds_most; // of computing
    unsigned files_most;   // open at a time
} DwBoxLimits;

// In the boxed program, before a thread was started: takes the network away where the system lets it. What the
// libraries need to begin with is done after it; then dw_box_shut().
void dw_box_leave_network(void);
// In the boxed program: from now on no network, no new programs, no writing to files, bounded memory, time and files.
// Status: DW_FAILED where the system cannot do it.
DwStatus dw_box_shut(const DwBoxLimits *limits, DwMessage *message);
// In the boxed program: answers with COUNT bytes. Returned: false when nobody listens any more.
bool dw_box_write(const void *bytes, size_t count);

#endif
