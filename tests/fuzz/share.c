// SPDX-License-Identifier: MIT
// What another shop shares of a model: it is taken into the library whole, and saying it twice puts nothing there
// twice; or one line says what is wrong, and the library is as it was.
#include "base/memory.h"
#include "book/model/share.h"
#include "book/store/private.h"
#include "target.h"

#include <ftw.h>
#include <stdio.h>
#include <unistd.h>

enum { TABLES = 4 };

// How many rows of each kind the library has.
typedef struct {
    int64_t rows[TABLES];
} Library;

static DwBook *book;
static char *folder;

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static void take_away(void)
{
    dw_book_close(book);
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    free(folder);
}

// A shop that has a model and a limit of its own.
static DwBook *shop(void)
{
    static const char own[] = "[model]\nformat = 1\nbook = own\nshop = Own\nmake = Plain\nname = Two\n"
                              "[limit wow.weighted]\nhigh = 0.2\nsource = manual\n";
    DwKeyfile file;
    DwShareTaken taken;
    DwMessage message = {""};
    if (book)
        return book;
    folder = dw_memory_text(P_tmpdir "/deckwright-fuzz-XXXXXX");
    TARGET_HOLDS(mkdtemp(folder) && dw_book_open(folder, &book, &message) == DW_OK && atexit(take_away) == 0);
    dw_book_set_actor(book, "tester");
    TARGET_HOLDS(dw_keyfile_parse(own, sizeof own - 1, "own.ini", &file, &message) == DW_OK);
    TARGET_HOLDS(dw_share_read(book, &file, "own.ini", &taken, &message) == DW_OK && taken.limits == 1);
    dw_keyfile_clear(&file);
    return book;
}

static Library library(void)
{
    static const char *const counts[TABLES] = {"SELECT count(*) FROM model", "SELECT count(*) FROM model_value",
                                               "SELECT count(*) FROM model_fault", "SELECT count(*) FROM bound"};
    Library now = {{0}};
    for (size_t i = 0; i < TABLES; i++)
        TARGET_HOLDS(dw_query_number(shop(), counts[i], 0, &now.rows[i], NULL) == DW_OK);
    return now;
}

static bool is_same(Library one, Library other)
{
    return memcmp(&one, &other, sizeof one) == 0;
}

// Takes FILE twice, and all of it back again.
static void take_twice(const DwKeyfile *file)
{
    DwShareTaken first, second;
    DwMessage message = {""};
    Library before = library();
    TARGET_HOLDS(dw_book_begin(shop(), &message) == DW_OK);
    TARGET_HOLDS(dw_share_read(shop(), file, "shared.ini", &first, &message) == DW_OK);
    Library once = library();
    TARGET_HOLDS(once.rows[0] == before.rows[0] + first.added);
    TARGET_HOLDS(once.rows[3] == before.rows[3] + (int64_t)first.limits);
    TARGET_HOLDS(dw_share_read(shop(), file, "shared.ini", &second, &message) == DW_OK);
    TARGET_HOLDS(second.model == first.model && !second.added && !second.limits && is_same(library(), once));
    dw_book_end(shop(), DW_FAILED, &message);
    TARGET_HOLDS(is_same(library(), before));
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    char *text = target_text(bytes, count);
    DwKeyfile file;
    DwShareTaken taken;
    DwMessage message = {""};
    if (dw_keyfile_parse(text, count, "shared.ini", &file, &message) == DW_OK) {
        Library before = library();
        DwStatus status = dw_book_begin(shop(), &message);
        TARGET_HOLDS(status == DW_OK);
        status = dw_share_read(shop(), &file, "shared.ini", &taken, &message);
        dw_book_end(shop(), DW_FAILED, NULL);
        if (status == DW_OK)
            take_twice(&file);
        else
            TARGET_HOLDS(dw_share_read(shop(), &file, "shared.ini", &taken, &message) == status && message.text[0]);
        TARGET_HOLDS(is_same(library(), before));
    }
    dw_keyfile_clear(&file);
    free(text);
    return 0;
}
