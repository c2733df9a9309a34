# bash: what may stand for the word that is being typed, as the program says.
_deckwright()
{
    local line=${COMP_LINE:0:COMP_POINT} words
    local word=${line##*[[:space:]]}
    read -r -a words <<<"${line%"$word"}"
    mapfile -t COMPREPLY < <(deckwright help --complete "${words[@]:1}" "$word" 2>/dev/null)
    [[ ${#COMPREPLY[@]} -eq 1 && ${COMPREPLY[0]} == *= ]] && compopt -o nospace
    # Of key=choice bash replaces only what stands behind the '='.
    [[ $word == *=* && $COMP_WORDBREAKS == *=* ]] && COMPREPLY=("${COMPREPLY[@]#*=}")
    return 0
}
complete -o default -F _deckwright deckwright
