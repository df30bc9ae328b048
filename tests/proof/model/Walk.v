(** The meaning of a program, walked once and written once (`src/evaluate/meaning.rs`): how tests are joined, what is counted,
    limits, coverage, how lines stand. What a truth is and what single tests come to is the business of a [logic]. Two matter:
    [Vehicle] (true and false, a vehicle of which everything is known: this is what a program means) and [Known] (true, false
    and unknown, a vehicle of which something is known: this is the interpreter). *)

From Wherefore Require Export Program.

Record logic := {
  truth : Type;
  fact : Type; (* what a vehicle has of a fact, or what is known of that *)
  yes : truth;
  no : truth;
  lost : truth; (* where conditions lead back to themselves, which `check` refuses *)
  neg : truth -> truth;
  both : truth -> truth -> truth;
  either : truth -> truth -> truth;
  how_many : list truth -> bounds -> truth; (* the number of those that hold is within the bounds *)
  how_many_to : list truth -> fact -> truth; (* it is at most the number that the fact is *)
  is_word : fact -> list nat -> truth;
  is_number : fact -> bounds -> truth;
  is_text : fact -> list nat -> bool -> truth;
  is_even : fact -> bool -> truth;
  is_there : fact -> truth;
  in_set : fact -> nat -> truth;
  (* the state of a monitor is among these; an unsupported one counts as incomplete where the truth holds *)
  stands_in : fact -> truth -> list state -> truth;
  (* a list of codes: which code belongs, whether any code there is belongs, and whether every code does *)
  has_codes : fact -> how -> (code -> truth) -> truth -> bool -> truth
}.

(** What a program is walked over. *)
Record subject (L : logic) := {
  fact_of : key -> fact L;
  read_as : id -> nat -> truth L; (* the question is read in this way *)
  band_holds : id -> truth L; (* the codes of a group that were not read are in it *)
  number_allows : nat -> list (truth L) -> truth L; (* the number that was not read allows so many *)
  presumed_row : id -> id -> option bool (* a table that the vehicle is presumed not to be in *)
}.
Arguments fact_of {L}. Arguments read_as {L}. Arguments band_holds {L}. Arguments number_allows {L}.
Arguments presumed_row {L}.

Section Walk.
Variable L : logic.
Variable p : program.
Variable v : subject L.

Definition all (l : list (truth L)) : truth L := fold_right (both L) (yes L) l.
Definition any (l : list (truth L)) : truth L := fold_right (either L) (no L) l.
Definition of (b : bool) : truth L := if b then yes L else no L.

Section Tests.
(** How a condition that a test leads to is judged. *)
Variable judge : condition -> truth L.

Definition row_holds (table : id) (r : row) : truth L :=
  match presumed_row v table (row_id r) with Some b => of b | None => judge (row_where r) end.

(** The count: a monitor counts if a rule that holds names it and no excuse that holds does. *)
Definition rules_of (m : monitor) : list counts_rule := filter (fun r => mem m (counted_monitors r)) (counts p).

Definition is_excused (m : monitor) (e : excuse) : truth L :=
  both L
    match which e with
    | Monitors l => of (mem m l)
    | EarlierIncomplete f => in_set L (fact_of v f) m
    | OfTable t => any (map (row_holds t) (filter (fun r => mem m (row_excuses r)) (named t (tables p))))
    end
    (judge (excuse_where e)).

Definition is_counted (m : monitor) : truth L :=
  both L (any (map (fun r => judge (counts_where r)) (rules_of m))) (neg L (any (map (is_excused m) (excuses p)))).

Definition counts_as_incomplete (m : monitor) : truth L :=
  any (map (fun r => judge (counts_where r)) (filter as_incomplete (rules_of m))).

Definition counted_in (states : list state) (m : monitor) : truth L :=
  both L (is_counted m) (stands_in L (fact_of v m) (counts_as_incomplete m) states).

Definition count_of (states : list state) : list (truth L) := map (counted_in states) (monitors p).

(** Limits: within one where a row that holds allows the monitors as they stand, over it where a row that holds does not. *)
Definition row_allows (r : limit_row) : truth L :=
  match allows r with
  | AtMost n only =>
      both L (how_many L (count_of [incomplete]) {| least := None; most := Some n |})
        match only with
        | None => yes L
        | Some l => neg L (any (map (counted_in [incomplete]) (filter (fun m => negb (mem m l)) (monitors p))))
        end
  | AtLeastComplete n => how_many L (count_of [complete]) {| least := Some n; most := None |}
  | NotRead slot => number_allows v slot (count_of [incomplete])
  end.

Definition limit_holds (n : id) (within : bool) : truth L :=
  any (map (fun r => both L (judge (limit_where r)) (if within then row_allows r else neg L (row_allows r)))
         (named n (limits p))).

Definition in_group (g : id) (c : code) : truth L :=
  let bands := filter (fun b => in_range c (codes_in b)) (named g (groups p)) in
  if existsb (fun b => negb (unread b)) bands then yes L
  else if existsb unread bands then band_holds v g else no L.

Definition is_empty {A} (l : list A) : bool := match l with [] => true | _ => false end.

Definition in_earlier (f : key) (states : list state) : truth L :=
  any (map (fun m => both L (in_set L (fact_of v f) m) (stands_in L (fact_of v m) (no L) states)) (monitors p)).

Definition others (states : list state) : list state :=
  filter (fun s => negb (mem s states)) [unsupported; complete; incomplete].

Definition test_holds (t : test) : truth L :=
  match t with
  | Word f words => is_word L (fact_of v f) words
  | Number f b => is_number L (fact_of v f) b
  | Text f among is => is_text L (fact_of v f) among is
  | YearIsEven f even => is_even L (fact_of v f) even
  | Present f is => let there := is_there L (fact_of v f) in if is then there else neg L there
  | Codes f h None => has_codes L (fact_of v f) h (fun _ => yes L) (yes L) true
  | Codes f h (Some g) => has_codes L (fact_of v f) h (in_group g) (of (negb (is_empty (named g (groups p))))) false
  | CodesOfTable f h t =>
      let listing := filter (fun r => negb (is_empty (row_codes r))) (named t (tables p)) in
      has_codes L (fact_of v f) h
        (fun c => any (map (row_holds t) (filter (fun r => existsb (in_range c) (row_codes r)) listing)))
        (any (map (row_holds t) listing)) false
  | Count states b => how_many L (count_of states) b
  | CountOf l states b => how_many L (map (fun m => stands_in L (fact_of v m) (no L) states) l) b
  | Pair SomeOf f states => in_earlier f states
  | Pair NoneOf f states => neg L (in_earlier f states)
  | Pair EveryOf f states => neg L (in_earlier f (others states))
  | NotMoreIncomplete f => how_many_to L (count_of [incomplete]) (fact_of v f)
  | Limit n within => limit_holds n within
  | Finding n => any (map judge (named n (findings p)))
  | Listed t => any (map (row_holds t) (named t (tables p)))
  | Reading q r => read_as v q r
  end.
End Tests.

Fixpoint joined (leaf : test -> truth L) (c : condition) : truth L :=
  match c with
  | All l => all (map (joined leaf) l)
  | Any l => any (map (joined leaf) l)
  | Not c => neg L (joined leaf c)
  | Test t => leaf t
  end.

(** Conditions lead to others (named conditions, limits, tables, the count) at most [deep] steps. *)
Fixpoint judged (deep : nat) (c : condition) : truth L :=
  joined (test_holds (match deep with 0 => fun _ => lost L | S less => judged less end)) c.

(** Each step leads to another item; so many there are. *)
Definition depth : nat := length (findings p) + length (limits p) + length (tables p) + 2.

Definition holds : condition -> truth L := judged depth.

Definition is_covered : truth L := any (map holds (covers p)).

(** How lines stand. Whether each is unmet, and which lines it gives way to, is found once. *)
Definition scene : Type := list (id * (truth L * list (id * truth L))).

Definition unmet (l : line) : truth L := both L (holds (concerns l)) (holds (unmet_where l)).

Definition the_scene : scene :=
  map (fun one => (fst one, (unmet (snd one), map (fun way => (fst way, holds (snd way))) (gives_way (snd one))))) (lines p).

(** A line stands if it is unmet and no line that it gives way to stands. From [lost] on, as often as there are lines. *)
Definition stands_next (standing : list (id * truth L)) (one : truth L * list (id * truth L)) : truth L :=
  both L (fst one) (neg L (any (map (fun way => both L (snd way) (any (named (fst way) standing))) (snd one)))).

Definition next (s : scene) (standing : list (id * truth L)) : list (id * truth L) :=
  map (fun one => (fst one, stands_next standing (snd one))) s.

Fixpoint rounds (n : nat) (s : scene) : list (id * truth L) :=
  match n with 0 => map (fun one => (fst one, lost L)) s | S n => next s (rounds n s) end.

Definition standing : list (id * truth L) := rounds (S (length (lines p))) the_scene.
End Walk.
