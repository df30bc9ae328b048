(** The model as OCaml, for `compare.ml`. Numbers become machine integers: those of programs and vehicles are far below 2^62. *)

From Coq Require Import Extraction ExtrOcamlBasic ExtrOcamlNatInt ExtrOcamlZInt.
From Wherefore Require Import Certificate Facts GivingWay Selection Depth.

(** What the interpreter makes of the parts of a program, where no reading is assumed. *)
Definition tell_covered (p : program) (k : known) : tv := is_covered Known p (in_known p [] k).
Definition tell_test (p : program) (k : known) (t : test) : tv := holds Known p (in_known p [] k) (Test t).
Definition tell_lines (p : program) (k : known) : list (id * (tv * tv)) :=
  let s := in_known p [] k in
  let standing := standing Known p s in
  map (fun one => (fst one, (unmet Known p s (snd one), any Known (named (fst one) standing)))) (lines p).

Extraction "model.ml" interpret the_verdict tell_covered tell_test tell_lines prepare can_exist narrower accepts may_be meets known_meets without
  no_ring ways_of no_ring_under_any_reading number_of_ways named stand deep_enough.
