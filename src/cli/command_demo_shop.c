// SPDX-License-Identifier: MIT
// demo-shop: an invented shop with a dozen jobs in every state, to try everything on.
#include "cli/command.h"
#include "cli/demo_shop.h"
#include "cli/help.h"
#include "cli/tell.h"

#include <string.h>

static DwStatus make(const char *folder, DwMessage *message)
{
    DwBook *book = NULL;
    bool found;
    // An invented past is never mixed into a book that a shop keeps.
    DwStatus status = dw_book_find(folder, &found, message);
    if (status == DW_OK && found)
        status = dw_fail(message, DW_BAD_INPUT, "There is a job book in %s already. Name a new folder.", folder);
    if (status == DW_OK)
        status = dw_book_open(folder, &book, message);
    if (status == DW_OK) {
        dw_book_set_actor(book, "Ines");
        status = dw_demo_shop_fill(book, folder, message);
    }
    dw_book_close(book);
    return status;
}

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    bool help = count == 1 && (strcmp(arguments[0], "--help") == 0 || strcmp(arguments[0], "-h") == 0);
    if (help) {
        dw_help_command(&dw_command_demo_shop, stdout);
        return DW_EXIT_MEASURED;
    }
    if (count != 1 || arguments[0][0] == '-')
        return dw_complain(dw_fail(&message, DW_BAD_INPUT, "The call is: deckwright %s", dw_command_demo_shop.usage),
                           &message);
    DwStatus status = make(arguments[0], &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    dw_tell(stdout, "The invented shop is in %s. Try: deckwright board --book %s\n", arguments[0], arguments[0]);
    return DW_EXIT_MEASURED;
}

const DwCommand dw_command_demo_shop = {"demo-shop", "demo-shop FOLDER",
                                        "Make the book of an invented shop with a dozen jobs in every state.", run};
