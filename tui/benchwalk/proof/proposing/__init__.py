"""The parts of which `proposals` makes examples.

`script` is what is answered, `trail` a walk by it that can be taken back, `heading` the ways on to where a walk is
wanted, `steering` leads it there; `spot`, `cases`, `telling`, `fitting` and `values` find the answers with which it
leaves a stop as is wanted; `roaming` walks a small procedure through whole; `written` makes an example of a walk.
"""
