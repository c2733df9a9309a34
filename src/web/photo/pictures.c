// SPDX-License-Identifier: MIT
#include "web/photo/pictures.h"

#include "base/memory.h"
#include "base/text.h"

#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { KEPT = 256, BYTES_MOST = 64 << 20 };

static const int sides[DW_PICTURES_SIZES] = {
    [DW_PICTURES_SMALL] = 400, [DW_PICTURES_LARGE] = 1600, [DW_PICTURES_WHOLE] = 4096};

typedef struct {
    char *key; // NULL: free
    DwPictureCopy copy;
    uint64_t used; // when it was last asked for
} Kept;

struct DwPictures {
    pthread_mutex_t lock;
    pthread_mutex_t decoding; // one at a time: a large one takes hundreds of megabytes while it is read
    Kept kept[KEPT];
    size_t bytes;
    uint64_t asked;
};

DwPictures *dw_pictures_new(void)
{
    DwPictures *pictures = dw_memory_new(1, sizeof *pictures);
    pthread_mutex_init(&pictures->lock, NULL);
    pthread_mutex_init(&pictures->decoding, NULL);
    return pictures;
}

static void forget(DwPictures *pictures, Kept *kept)
{
    pictures->bytes -= kept->copy.length;
    free(kept->key);
    free(kept->copy.bytes);
    *kept = (Kept){0};
}

void dw_pictures_free(DwPictures *pictures)
{
    if (!pictures)
        return;
    for (size_t i = 0; i < KEPT; i++)
        forget(pictures, &pictures->kept[i]);
    pthread_mutex_destroy(&pictures->lock);
    pthread_mutex_destroy(&pictures->decoding);
    free(pictures);
}

static DwPictureCopy duplicate(const DwPictureCopy *copy)
{
    DwPictureCopy made = *copy;
    made.bytes = dw_memory_new(copy->length, 1);
    memcpy(made.bytes, copy->bytes, copy->length);
    return made;
}

static bool find(DwPictures *pictures, const char *key, DwPictureCopy *copy)
{
    bool found = false;
    pthread_mutex_lock(&pictures->lock);
    for (size_t i = 0; i < KEPT && !found; i++) {
        Kept *kept = &pictures->kept[i];
        found = kept->key && strcmp(kept->key, key) == 0;
        if (found) {
            kept->used = ++pictures->asked;
            *copy = duplicate(&kept->copy);
        }
    }
    pthread_mutex_unlock(&pictures->lock);
    return found;
}

// The place for another: a free one, else that of the one not asked for longest.
static Kept *oldest(DwPictures *pictures)
{
    Kept *found = &pictures->kept[0];
    for (size_t i = 1; i < KEPT; i++)
        if (pictures->kept[i].used < found->used)
            found = &pictures->kept[i];
    return found;
}

static Kept *oldest_kept(DwPictures *pictures)
{
    Kept *found = NULL;
    for (size_t i = 0; i < KEPT; i++)
        if (pictures->kept[i].key && (!found || pictures->kept[i].used < found->used))
            found = &pictures->kept[i];
    return found;
}

static void keep(DwPictures *pictures, const char *key, const DwPictureCopy *copy)
{
    if (copy->length > BYTES_MOST / 4)
        return;
    pthread_mutex_lock(&pictures->lock);
    while (pictures->bytes + copy->length > BYTES_MOST)
        forget(pictures, oldest_kept(pictures));
    Kept *kept = oldest(pictures);
    forget(pictures, kept);
    *kept = (Kept){dw_memory_text(key), duplicate(copy), ++pictures->asked};
    pictures->bytes += copy->length;
    pthread_mutex_unlock(&pictures->lock);
}

DwStatus dw_pictures_get(DwPictures *pictures, const DwBook *book, const DwAttachment *attachment, DwPicturesSize size,
                         DwPictureCopy *copy, DwMessage *message)
{
    char *key = dw_text_format("%s %d %d", attachment->file, (int)size, (int)attachment->turn);
    DwStatus status = DW_OK;
    if (!find(pictures, key, copy)) {
        pthread_mutex_lock(&pictures->decoding);
        if (!find(pictures, key, copy)) { // somebody may have asked for it meanwhile
            char *path = dw_attachment_path(book, attachment);
            status = dw_picture_copy(path, sides[size], (int)attachment->turn, copy, message);
            free(path);
            if (status == DW_OK)
                keep(pictures, key, copy);
        }
        pthread_mutex_unlock(&pictures->decoding);
    }
    free(key);
    return status;
}
