# fish: what may stand for the word that is being typed, as the program says.
complete -c deckwright -a '(deckwright help --complete (commandline -opc)[2..] (commandline -ct) 2>/dev/null)'
