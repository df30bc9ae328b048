(** The logics: of a vehicle of which everything is known, of what is known of a vehicle, and the checker's. *)

From Wherefore Require Export Walk.
Local Open Scope Z_scope.

(** ** A vehicle: true and false *)

Inductive value :=
| VAbsent
| VWord (w : nat)
| VNumber (z : Z)
| VText (t : nat)
| VSet (l : list monitor)
| VCodes (l : list code).

Definition number_that_hold (l : list bool) : Z := Z.of_nat (length (filter (fun b => b) l)).

Definition state_for_the_count (s : state) (flagged : bool) : state :=
  if flagged && Nat.eqb s unsupported then incomplete else s.

Definition Vehicle : logic := {|
  truth := bool;
  fact := value;
  yes := true;
  no := false;
  lost := false;
  neg := negb;
  both := andb;
  either := orb;
  how_many l b := inside b (number_that_hold l);
  how_many_to l v := match v with VNumber z => number_that_hold l <=? z | _ => false end;
  is_word v words := match v with VWord w => mem w words | _ => false end;
  is_number v b := match v with VNumber z => inside b z | _ => false end;
  is_text v among is := match v with VText t => Bool.eqb (mem t among) is | _ => false end;
  is_even v even := match v with VNumber z => Bool.eqb (z mod 2 =? 0) even | _ => false end;
  is_there v := match v with VAbsent => false | _ => true end;
  in_set v m := match v with VSet l => mem m l | _ => false end;
  stands_in v flagged states := match v with VWord s => mem (state_for_the_count s flagged) states | _ => false end;
  has_codes v h belongs _ _ :=
    match v with
    | VCodes l =>
        match h with
        | AnyCode => existsb belongs l
        | NoCode => negb (existsb belongs l)
        | OnlyCodes => forallb belongs l
        end
    | _ => false
    end
|}.

(** ** What is known of a vehicle: true, false, unknown (Kleene's strong tables) *)

Inductive tv := F | U | T.

Definition tv_of (b : bool) : tv := if b then T else F.
Definition tv_neg (a : tv) : tv := match a with F => T | U => U | T => F end.
Definition tv_both (a b : tv) : tv := match a, b with F, _ | _, F => F | T, T => T | _, _ => U end.
Definition tv_either (a b : tv) : tv := match a, b with T, _ | _, T => T | F, F => F | _, _ => U end.
Definition between (surely perhaps : bool) : tv := if surely then T else if perhaps then U else F.
Definition is_T (a : tv) : bool := match a with T => true | _ => false end.
Definition is_F (a : tv) : bool := match a with F => true | _ => false end.
Definition is_U (a : tv) : bool := match a with U => true | _ => false end.

(** What a fact can still be. *)
Inductive possible :=
| PWords (words : list nat) (absent : bool)
| PNumber (low high : Z) (absent : bool)
| PText (t : option nat)
| PSet (surely perhaps : list monitor)
| PCodes (read : option (list code * bool (* there may be more *))) (absent present : bool).

(** On a vehicle that may be without the fact, a test that would hold is unknown. *)
Definition unless_absent (t : tv) (absent : bool) : tv := if absent then tv_both t U else t.

Definition among_words (words : list nat) (absent : bool) (accepted : list nat) : tv :=
  let perhaps := existsb (fun w => mem w accepted) words in
  between (perhaps && forallb (fun w => mem w accepted) words && negb absent) perhaps.

Definition surely_hold (l : list tv) : Z := number_that_hold (map is_T l).
Definition perhaps_hold (l : list tv) : Z := number_that_hold (map (fun t => negb (is_F t)) l).

(** Some number of a run is within the bounds; each is. *)
Definition run_inside (low high : Z) (b : bounds) : tv :=
  between
    (match least b with Some l => l <=? low | None => true end && match most b with Some m => high <=? m | None => true end)
    (match least b with Some l => l <=? high | None => true end && match most b with Some m => low <=? m | None => true end).

Definition kleene_words (p : possible) (accepted : list nat) : tv :=
  match p with PWords words absent => among_words words absent accepted | _ => F end.

Definition kleene_number (p : possible) (t : Z -> Z -> tv) : tv :=
  match p with
  | PNumber low high absent => if high <? low then F else unless_absent (t low high) absent
  | _ => F
  end.

Definition kleene_there (p : possible) : tv :=
  match p with
  | PWords words absent => between (negb absent) (negb (is_empty words))
  | PNumber low high absent => between (negb absent) (low <=? high)
  | PCodes _ absent present => between (negb absent) present
  | PText _ | PSet _ _ => T
  end.

Definition kleene_stands (p : possible) (flagged : tv) (states : list state) : tv :=
  match p with
  | PWords words absent =>
      let as_they_are := filter (fun s => negb (Nat.eqb s unsupported && is_T flagged)) words in
      let turned := if mem unsupported words && negb (is_F flagged) then [incomplete] else [] in
      among_words (as_they_are ++ turned) absent states
  | _ => F
  end.

Definition tv_any (l : list tv) : tv := fold_right tv_either F l.
Definition tv_all (l : list tv) : tv := fold_right tv_both T l.

(** [further]: what the codes that were not read make of it, where there may be such. *)
Definition kleene_codes (p : possible) (h : how) (belongs : code -> tv) (further_any further_only : tv) : tv :=
  match p with
  | PCodes read absent true =>
      let (codes, more) := match read with Some read => read | None => ([], true) end in
      let some := tv_any ((if more then further_any else F) :: map belongs codes) in
      unless_absent
        match h with
        | AnyCode => some
        | NoCode => tv_neg some
        | OnlyCodes => tv_all ((if more then further_only else T) :: map belongs codes)
        end absent
  | _ => F
  end.

Definition Known : logic := {|
  truth := tv;
  fact := possible;
  yes := T;
  no := F;
  lost := U;
  neg := tv_neg;
  both := tv_both;
  either := tv_either;
  how_many l b := run_inside (surely_hold l) (perhaps_hold l) b;
  how_many_to l p :=
    kleene_number p (fun low high => between (perhaps_hold l <=? low) (surely_hold l <=? high));
  is_word := kleene_words;
  is_number p b := kleene_number p (fun low high => run_inside low high b);
  is_text p among is :=
    match p with
    | PText (Some t) => tv_of (Bool.eqb (mem t among) is)
    | PText None => if is_empty among then tv_of (negb is) else U
    | _ => F
    end;
  is_even p even := kleene_number p (fun low high => if low =? high then tv_of (Bool.eqb (low mod 2 =? 0) even) else U);
  is_there := kleene_there;
  in_set p m := match p with PSet surely perhaps => between (mem m surely) (mem m perhaps) | _ => U end;
  stands_in := kleene_stands;
  has_codes p h belongs some every :=
    kleene_codes p h belongs (tv_both some U) (if every then T else U)
|}.

(** ** The checker of certificates: test by test the same, written apart (`src/certificate/tests_of_facts.rs`) *)
Definition Checker : logic := {|
  truth := tv;
  fact := possible;
  yes := T;
  no := F;
  lost := U;
  neg := tv_neg;
  both := tv_both;
  either := tv_either;
  how_many := how_many Known;
  how_many_to := how_many_to Known;
  is_word := kleene_words;
  is_number := is_number Known;
  is_text := is_text Known;
  is_even := is_even Known;
  is_there := kleene_there;
  in_set := in_set Known;
  stands_in := kleene_stands;
  has_codes := has_codes Known
|}.
