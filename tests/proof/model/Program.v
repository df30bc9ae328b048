(** What a flat program is: the program that a date, a known-on date, readings and options select (`src/program/flat.rs`,
    `src/program/condition.rs`). Names are numbers here, and so are words, texts and monitors: what they are called decides
    nothing. A program is a set of items; an item names another by its id, never by its place in a list. *)

From Coq Require Export List ZArith Bool.
Export ListNotations.

Definition id := nat.
Definition key := nat. (* a fact; the fact that a monitor's state is has the monitor's number *)
Definition monitor := nat.
Definition state := nat.
Definition unsupported : state := 0.
Definition complete : state := 1.
Definition incomplete : state := 2.
Definition code := option Z. (* the two bytes; none where groups do not know the code (J1939) *)

Definition mem (n : nat) (l : list nat) : bool := existsb (Nat.eqb n) l.

(** Both ends are included; a missing end is open. *)
Record bounds := { least : option Z; most : option Z }.

Definition inside (b : bounds) (z : Z) : bool :=
  match least b with Some l => (l <=? z)%Z | None => true end
  && match most b with Some m => (z <=? m)%Z | None => true end.

(** A run of codes; with [digits_only] those of decimal digits. *)
Record range := { first : Z; last : Z; digits_only : bool }.

Definition is_decimal (c : Z) : bool :=
  forallb (fun place => (c / place mod 16 <=? 9)%Z) [1; 16; 256]%Z.

Definition in_range (c : code) (r : range) : bool :=
  match c with
  | None => false
  | Some c => (first r <=? c)%Z && (c <=? last r)%Z && (negb (digits_only r) || is_decimal c)
  end.

Inductive how := AnyCode | NoCode | OnlyCodes.
Inductive quantifier := SomeOf | EveryOf | NoneOf.

(** One test of the facts. A test of a fact that is not on the vehicle is false, whatever it asks; [Present] tells absence. *)
Inductive test :=
| Word (f : key) (words : list nat)
| Number (f : key) (b : bounds)
| Text (f : key) (among : list nat) (is : bool)
| YearIsEven (f : key) (even : bool)
| Present (f : key) (is : bool)
| Codes (f : key) (h : how) (group : option id)
| CodesOfTable (f : key) (h : how) (table : id)
| Count (states : list state) (b : bounds)
| CountOf (monitors : list monitor) (states : list state) (b : bounds)
| Pair (q : quantifier) (earlier : key) (states : list state)
| NotMoreIncomplete (earlier : key)
| Limit (limit : id) (within : bool)
| Finding (finding : id)
| Listed (table : id)
| Reading (question : id) (reading : nat).

Inductive condition :=
| All (parts : list condition)
| Any (parts : list condition)
| Not (inner : condition)
| Test (t : test).

(** What a row of a limit allows. A row that was not read allows a number that nobody here knows: each has a [slot]. *)
Inductive allowance :=
| AtMost (count : Z) (only : option (list monitor))
| AtLeastComplete (count : Z)
| NotRead (slot : nat).

Inductive excused := Monitors (l : list monitor) | EarlierIncomplete (f : key) | OfTable (table : id).

Record row := { row_id : id; row_where : condition; row_excuses : list monitor; row_codes : list range }.
Record counts_rule := { counts_where : condition; counted_monitors : list monitor; as_incomplete : bool }.
Record excuse := { excuse_where : condition; which : excused }.
Record limit_row := { limit_where : condition; allows : allowance }.
Record line := { concerns : condition; unmet_where : condition; outcome : nat; gives_way : list (id * condition) }.
Record left_out_row := { left_where : condition; left_to : option nat (* none: not subject *) }.
Record becomes_rule := { from : nat; to : nat; becomes_where : condition }.
(** A run of codes of a group; of [unread] ones the text was not seen, and either all are in the group or none is. *)
Record band := { codes_in : range; unread : bool }.

Record program := {
  in_force : bool;
  monitors : list monitor;
  questions : list (id * (nat * option nat)); (* how many readings, and the one that is taken *)
  groups : list (id * band);
  findings : list (id * condition);
  tables : list (id * row);
  limits : list (id * limit_row);
  counts : list counts_rule;
  excuses : list excuse;
  covers : list condition;
  left_out : list left_out_row;
  lines : list (id * line);
  becomes : list becomes_rule
}.

(** Items of one name. *)
Definition named {A} (n : id) (l : list (id * A)) : list A :=
  map snd (filter (fun one => Nat.eqb n (fst one)) l).

Inductive verdict := NotSubject | Outcome (place : nat).
