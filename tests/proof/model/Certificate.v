(** Certificates: small proofs of verdicts, and their checker (`src/certificate/verify.rs`). A certificate names, for each condition
    that it needs, the tests that settle it; all other tests count as unknown. What the checker accepts is true. *)

From Wherefore Require Export Facts GivingWay.

Definition tests := list nat. (* places in the order in which a condition's tests are written *)
Definition tested : Type := nat * tests. (* a condition by its place in its list *)

Inductive live := Live (line : nat) (concerned unmet : tests) (stands_before : list unyielding)
with unyielding := NotUnder (fail : tests) | IsBlocked (b : blocked)
with blocked := Blocked (line : nat) (why : reason)
with reason := NotConcerned (fail : tests) | Met (fail : tests) | SetAside (way : tested) (to : live).

Inductive coverage :=
| NotInForce
| NotCovered (blocks : list tested)
| LeftOut (block : option tested) (row : tested) (graver : list tested)
| Covered (block : tested) (rows : list tested).

Record way := {
  readings : list (id * nat);
  cover : coverage;
  deciding : option live;
  kept_out : list blocked;
  relabelled_by : option tested;
  no_graver : list tested
}.

Record certificate := { claims : verdict; proofs : list way }.

(** A condition of which only some tests are looked at: what it comes to, and the place of the next test. *)
Section Numbered.
Variable leaf : nat -> test -> tv.
Fixpoint numbered (c : condition) (n : nat) : tv * nat :=
  match c with
  | All l =>
      (fix go l n := match l with
                     | [] => (T, n)
                     | c :: l => let (a, n) := numbered c n in let (b, n) := go l n in (tv_both a b, n)
                     end) l n
  | Any l =>
      (fix go l n := match l with
                     | [] => (F, n)
                     | c :: l => let (a, n) := numbered c n in let (b, n) := go l n in (tv_either a b, n)
                     end) l n
  | Not c => let (a, n) := numbered c n in (tv_neg a, n)
  | Test t => (leaf n t, S n)
  end.
End Numbered.

Definition placed {A} (l : list A) : list (nat * A) := combine (seq 0 (length l)) l.
Fixpoint find_tested (place : nat) (l : list tested) : option tests :=
  match l with [] => None | (q, t) :: l => if Nat.eqb q place then Some t else find_tested place l end.

Section Checker.
Variable p : program.
Variable s : subject Checker.

Definition test_here (t : test) : tv := test_holds Checker p s (judged Checker p s (Nat.pred (depth p))) t.

(** What a condition comes to if only the named tests are looked at. *)
Definition looked (c : condition) (named : tests) : tv :=
  fst (numbered (fun n t => if mem n named then test_here t else U) c 0).
Definition holds_by (c : condition) (named : tests) : bool := is_T (looked c named).
Definition fails_by (c : condition) (named : tests) : bool := is_F (looked c named).

(** Each of these conditions fails by the tests named for its place. *)
Definition all_fail (proofs : list tested) (wanted : list (nat * condition)) : bool :=
  forallb (fun one => match find_tested (fst one) proofs with Some t => fails_by (snd one) t | None => false end) wanted.

Definition line_at (n : nat) : option (id * line) := nth_error (lines p) n.

Fixpoint live_holds (x : live) : bool :=
  match x with
  | Live n concerned unmet before =>
      match line_at n with
      | None => false
      | Some (_, l) =>
          holds_by (concerns l) concerned && holds_by (unmet_where l) unmet
          && (fix each before ways {struct before} :=
                match before, ways with
                | [], [] => true
                | b :: before, (j, c) :: ways =>
                    match b with
                    | NotUnder t => fails_by c t
                    | IsBlocked b =>
                        match b with Blocked m _ => match line_at m with Some (i, _) => Nat.eqb i j | None => false end end
                        && blocked_holds b
                    end && each before ways
                | _, _ => false
                end) before (gives_way l)
      end
  end
with blocked_holds (x : blocked) : bool :=
  match x with
  | Blocked n r =>
      match line_at n with
      | None => false
      | Some (_, l) =>
          match r with
          | NotConcerned t => fails_by (concerns l) t
          | Met t => fails_by (unmet_where l) t
          | SetAside (place, t) to =>
              match nth_error (gives_way l) place with
              | None => false
              | Some (j, c) =>
                  holds_by c t
                  && match to with Live m _ _ _ => match line_at m with Some (i, _) => Nat.eqb i j | None => false end end
                  && live_holds to
              end
          end
      end
  end.

Definition covered_by (block : tested) : bool :=
  match nth_error (covers p) (fst block) with Some c => holds_by c (snd block) | None => false end.

Definition check_relabelled (w : way) (o : nat) : option verdict :=
  let rules := filter (fun one => Nat.eqb (from (snd one)) o) (placed (becomes p)) in
  let graver best := map (fun one => (fst one, becomes_where (snd one))) (filter (fun one => above best (to (snd one))) rules) in
  match relabelled_by w with
  | None => if all_fail (no_graver w) (graver None) then Some (Outcome o) else None
  | Some (place, t) =>
      match find_named place rules with
      | None => None
      | Some r =>
          if holds_by (becomes_where r) t && all_fail (no_graver w) (graver (Some (to r))) then Some (Outcome (to r)) else None
      end
  end.

Definition line_of (x : live) : nat := match x with Live n _ _ _ => n end.
Definition line_of_blocked (x : blocked) : nat := match x with Blocked n _ => n end.

Definition check_lines (w : way) : option nat :=
  match match deciding w with
        | None => Some 0
        | Some x => match line_at (line_of x) with
                    | Some (_, l) => if live_holds x then Some (outcome l) else None
                    | None => None
                    end
        end with
  | None => None
  | Some o =>
      if forallb (fun one : nat * (id * line) =>
                    Nat.leb (outcome (snd (snd one))) o
                    || match find (fun b => Nat.eqb (line_of_blocked b) (fst one)) (kept_out w) with
                       | Some b => blocked_holds b
                       | None => false
                       end) (placed (lines p))
      then Some o else None
  end.

Definition check_way (w : way) : option verdict :=
  if negb (in_force p) then match cover w with NotInForce => Some NotSubject | _ => None end
  else
    match cover w with
    | NotInForce => None
    | NotCovered blocks => if all_fail blocks (placed (covers p)) then Some NotSubject else None
    | LeftOut block row graver =>
        match nth_error (left_out p) (fst row) with
        | None => None
        | Some r =>
            if holds_by (left_where r) (snd row)
               && all_fail graver (map (fun one => (fst one, left_where (snd one)))
                    (filter (fun one => Nat.ltb (weight (left_to r)) (weight (left_to (snd one)))) (placed (left_out p))))
            then match left_to r, block with
                 | None, _ => Some NotSubject
                 | Some o, Some block => if covered_by block then check_relabelled w o else None
                 | Some _, None => None
                 end
            else None
        end
    | Covered block rows =>
        if covered_by block && all_fail rows (map (fun one => (fst one, left_where (snd one))) (placed (left_out p)))
        then match check_lines w with Some o => check_relabelled w o | None => None end
        else None
    end.
End Checker.

(** The ways of reading are all there, each once. *)
Definition reads_as (w : way) (q r : nat) : bool := match find_named q (readings w) with Some x => Nat.eqb x r | None => false end.
Definition every_reading (p : program) (asked : list id) : list (list (id * nat)) :=
  fold_right (fun q ways =>
    match find_named q (questions p) with
    | Some (n, None) => flat_map (fun r => map (cons (q, r)) ways) (seq 0 n)
    | _ => []
    end) [[]] asked.

Definition ways_are_all (p : program) (all : list way) : bool :=
  match all with
  | [] => false
  | first :: _ =>
      let asked := map fst (readings first) in
      let wanted := every_reading p asked in
      forallb (fun w => forallb (fun one => mem (fst one) asked) (readings w)) all
      && forallb (fun way => existsb (fun w => forallb (fun one => reads_as w (fst one) (snd one)) way) all) wanted
      && Nat.eqb (length wanted) (length all)
  end.

Definition same_verdict (a b : verdict) : bool :=
  match a, b with NotSubject, NotSubject => true | Outcome a, Outcome b => Nat.eqb a b | _, _ => false end.

(** The check, given what the certificate rests on and nothing else that is known. *)
Definition accepts (p : program) (rests_on : known) (c : certificate) : bool :=
  ways_are_all p (proofs c)
  && forallb (fun w => match check_way p (in_checker p (readings w) rests_on) w with
                       | Some o => same_verdict o (claims c)
                       | None => false
                       end) (proofs c).
