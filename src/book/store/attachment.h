// SPDX-License-Identifier: MIT
// Attachments: photographs, stylus images with their scale, signatures,
// recordings, documents. The file is written under a temporary name, forced to
// the disk and renamed before its row is kept, so that a row always has its
// whole file; its SHA-256 shows that it was not changed since.
#ifndef DW_BOOK_ATTACHMENT_H
#define DW_BOOK_ATTACHMENT_H

#include "book/store/record.h"
#include "book/store/words.h"

typedef enum {
    DW_ATTACHMENT_PHOTO,
    DW_ATTACHMENT_STYLUS,
    DW_ATTACHMENT_SIGNATURE,
    DW_ATTACHMENT_RECORDING,
    DW_ATTACHMENT_DOCUMENT,
    DW_ATTACHMENT_PACKAGING,
} DwAttachmentKind;

#define DW_ATTACHMENT_ZONES                                                                                            \
    "none|plinth top|plinth front|plinth left|plinth right|plinth back|underside|inside|cover|platter|mat|bearing|"    \
    "motor|pulley or idler|belt|arm|arm bearing|headshell|cartridge|stylus|cable|electrics|packaging"

typedef struct {
    DwRecord record;
    int64_t job_id; // each of the three may be 0
    int64_t deck_id;
    int64_t stylus_id;
    int kind;         // DwAttachmentKind
    int phase;        // DwPhase
    int64_t position; // order within the job: layers of a strip-down
    int zone;         // a word of DW_ATTACHMENT_ZONES
    char *caption;
    int64_t turn;              // quarter turns clockwise that stand it upright, 0 to 3; the file stays as it came
    double scale_um_per_pixel; // of a stylus image; NAN when not known
    bool personal;             // shows a person or a home: erased with the customer
    char *original_name;
    char *file; // its name in the folder
    int64_t bytes;
    char *digest; // SHA-256, hexadecimal
    char *at;
    char *who;
} DwAttachment;

extern const DwEntity dw_attachment_entity;

// Copies the file at PATH into the book and adds an initialised ATTACHMENT for
// it; without a position it comes after those its job has, without an original name it
// has the file's.
DwStatus dw_attachment_add(DwBook *book, DwAttachment *attachment, const char *path, DwMessage *message);
// The same from LENGTH bytes at BYTES, called NAME.
DwStatus dw_attachment_add_bytes(DwBook *book, DwAttachment *attachment, const char *name, const void *bytes,
                                 size_t length, DwMessage *message);
// Where the file is. The caller frees it with free().
char *dw_attachment_path(const DwBook *book, const DwAttachment *attachment);
// *TWIN: the first other attachment of the book with the very same file, 0 without one, and the number of its JOB (0
// for none).
DwStatus dw_attachment_twin(DwBook *book, const DwAttachment *attachment, int64_t *twin, int64_t *job,
                            DwMessage *message);
// Takes the row out of the book and the file off the disk.
DwStatus dw_attachment_remove(DwBook *book, int64_t attachment, DwMessage *message);
// The attachments of JOB in their order. The caller frees them with dw_records_clear().
DwStatus dw_attachment_of_job(DwBook *book, int64_t job, DwRecords *attachments, DwMessage *message);
// The newest recordings of JOB, or of the whole book for 0, at most MOST, oldest first; only they are
// read. The caller frees them with dw_records_clear().
DwStatus dw_attachment_recordings(DwBook *book, int64_t job, size_t most, DwRecords *recordings, DwMessage *message);
// What a person calls it: its caption, else the name it came with. Valid while it lasts.
const char *dw_attachment_name(const DwAttachment *attachment);
// Whether it is a picture to look at: a photograph, a stylus image, packaging.
bool dw_attachment_is_picture(const DwAttachment *attachment);
// Whether LATER shows as left what FIRST shows as received: pictures with one caption,
// or of one zone where neither has a caption.
bool dw_attachment_answers(const DwAttachment *later, const DwAttachment *first);
// Moves it up by one place (STEP -1) or down (1) in the order of its job's pictures; the
// first and the last stay where they are.
DwStatus dw_attachment_move(DwBook *book, int64_t attachment, int step, DwMessage *message);

// Whether its file is still there and still as it was kept.
typedef enum {
    DW_ATTACHMENT_WHOLE,
    DW_ATTACHMENT_MISSING,
    DW_ATTACHMENT_CHANGED, // by its SHA-256
} DwAttachmentState;

// A file that was touched since it was kept is read once; any other is believed by its size.
DwAttachmentState dw_attachment_state(const DwBook *book, const DwAttachment *attachment);

// Of a job: the names of those that are missing and of those that were changed, "" for none.
typedef struct {
    size_t count;
    char *missing, *changed;
} DwAttachmentTroubles;

// The caller frees them with dw_attachment_troubles_clear().
DwStatus dw_attachment_troubles(DwBook *book, int64_t job, DwAttachmentTroubles *troubles, DwMessage *message);
void dw_attachment_troubles_clear(DwAttachmentTroubles *troubles);

#endif
