(** What a program means: the verdict on a vehicle of which everything is known (`src/program/flat.rs`); and what the
    interpreter tells of a vehicle of which something is known: the verdicts that may follow (`src/evaluate/kernel.rs`). *)

From Wherefore Require Export Logics.

(** ** The verdict on a vehicle *)

(** A vehicle, and what was not read of the law, made up: how each question is read, whether the unread codes of a group are in
    it, the number of each limit that was not read. *)
Record vehicle := {
  v_fact : key -> value;
  v_reading : id -> nat;
  v_band : id -> bool;
  v_number : nat -> Z;
  v_row : id -> id -> option bool
}.

Definition of_vehicle (v : vehicle) : subject Vehicle := {|
  fact_of := (v_fact v : key -> fact Vehicle);
  read_as q r := Nat.eqb (v_reading v q) r;
  band_holds := v_band v;
  number_allows slot l := (number_that_hold l <=? v_number v slot)%Z;
  presumed_row := v_row v
|}.

(** The greatest number of those that hold. *)
Definition greater (best : option nat) (n : nat) : option nat :=
  Some match best with None => n | Some b => Nat.max b n end.
Definition top (l : list (bool * nat)) : option nat :=
  fold_right (fun (one : bool * nat) best => if fst one then greater best (snd one) else best) None l.

(** Of rows that leave a vehicle out, an outcome stands before not-subject, and the gravest first. *)
Definition weight (to : option nat) : nat := match to with None => 0 | Some o => S o end.

Section Verdict.
Variable p : program.
Variable s : subject Vehicle.

Definition relabelled (o : nat) : nat :=
  match top (map (fun r => (holds Vehicle p s (becomes_where r), to r)) (filter (fun r => Nat.eqb (from r) o) (becomes p))) with
  | Some new => new
  | None => o
  end.

(** The gravest outcome of the lines that stand; with none, the ladder's first. *)
Definition by_lines : nat :=
  let standing := standing Vehicle p s in
  match top (map (fun one => (any Vehicle (named (fst one) standing), outcome (snd one))) (lines p)) with
  | Some o => o
  | None => 0
  end.

Definition verdict_of : verdict :=
  if negb (in_force p && is_covered Vehicle p s) then NotSubject
  else
    match top (map (fun r => (holds Vehicle p s (left_where r), weight (left_to r))) (left_out p)) with
    | Some 0 => NotSubject
    | Some (S o) => Outcome (relabelled o)
    | None => Outcome (relabelled by_lines)
    end.
End Verdict.

Definition the_verdict (p : program) (v : vehicle) : verdict := verdict_of p (of_vehicle v).

(** ** What is known of a vehicle *)

Record known := { k_fact : key -> possible; k_row : id -> id -> option bool }.

(** How questions are read: as is taken, else as is assumed. *)
Definition find_named {A} (n : id) (l : list (id * A)) : option A :=
  match named n l with a :: _ => Some a | [] => None end.

Definition reading (p : program) (assumed : list (id * nat)) (q : id) : option nat :=
  match find_named q (questions p) with
  | Some (_, Some taken) => Some taken
  | Some (_, None) => find_named q assumed
  | None => None
  end.

Definition of_known (L : logic) (known_truth : tv -> truth L) (known_fact : possible -> fact L) (hold : list (truth L) -> Z)
    (p : program) (assumed : list (id * nat)) (k : known) : subject L := {|
  fact_of f := known_fact (k_fact k f);
  read_as q r := known_truth match reading p assumed q with Some known => tv_of (Nat.eqb known r) | None => U end;
  band_holds _ := known_truth U;
  number_allows _ l := known_truth (between (hold l =? 0)%Z true);
  presumed_row := k_row k
|}.

Definition in_known : program -> list (id * nat) -> known -> subject Known :=
  of_known Known (fun t => t) (fun f => f) perhaps_hold.
Definition in_checker : program -> list (id * nat) -> known -> subject Checker :=
  of_known Checker (fun t => t) (fun f => f) perhaps_hold.

(** What may be the greatest number of those that hold: the greatest that surely does, and each greater one that may. *)
Definition above (best : option nat) (n : nat) : bool := match best with None => true | Some b => Nat.ltb b n end.
Definition tops (l : list (tv * nat)) : list (option nat) :=
  let surely := top (map (fun one => (is_T (fst one), snd one)) l) in
  surely :: map (fun one => Some (snd one)) (filter (fun one => is_U (fst one) && above surely (snd one)) l).

Section Outlook.
Variable p : program.
Variable s : subject Known.

Definition may_become (o : nat) : list verdict :=
  map (fun new => Outcome match new with Some new => new | None => o end)
    (tops (map (fun r => (holds Known p s (becomes_where r), to r)) (filter (fun r => Nat.eqb (from r) o) (becomes p)))).

Definition may_by_lines : list verdict :=
  let standing := standing Known p s in
  flat_map (fun o => may_become match o with Some o => o | None => 0 end)
    (tops (map (fun one => (any Known (named (fst one) standing), outcome (snd one))) (lines p))).

(** The verdicts that may follow, under one way of reading. *)
Definition outlook : list verdict :=
  if negb (in_force p) then [NotSubject]
  else
    let covered := is_covered Known p s in
    (if is_T covered then [] else [NotSubject]) ++
    (if is_F covered then []
     else
       flat_map
         (fun row =>
            match row with
            | Some 0 => [NotSubject]
            | Some (S o) => may_become o
            | None => may_by_lines
            end)
         (tops (map (fun r => (holds Known p s (left_where r), weight (left_to r))) (left_out p)))).
End Outlook.

(** Every way of reading the open questions; beyond 64 ways, none is assumed. *)
Definition open_questions (p : program) : list (id * nat) :=
  flat_map (fun q => match snd (snd q) with None => [(fst q, fst (snd q))] | Some _ => [] end) (questions p).
Definition all_ways (p : program) : list (list (id * nat)) :=
  fold_right (fun (q : id * nat) ways => flat_map (fun r => map (cons (fst q, r)) ways) (seq 0 (snd q))) [[]]
    (open_questions p).
Definition number_of_ways (p : program) : nat :=
  fold_right (fun (q : id * nat) n => Nat.min 65 (snd q * n)) 1 (open_questions p).
Definition ways (p : program) : list (list (id * nat)) := if Nat.leb (number_of_ways p) 64 then all_ways p else [[]].

(** What the interpreter tells. *)
Definition interpret (p : program) (k : known) : list verdict :=
  flat_map (fun way => outlook p (in_known p way k)) (ways p).

(** ** Which vehicles agree with what is known *)

Definition may_be (p : possible) (v : value) : bool :=
  match p, v with
  | PWords _ absent, VAbsent | PNumber _ _ absent, VAbsent | PCodes _ absent _, VAbsent => absent
  | PWords words _, VWord w => mem w words
  | PNumber low high _, VNumber z => (low <=? z)%Z && (z <=? high)%Z
  | PText None, VText _ => true
  | PText (Some t), VText u => Nat.eqb t u
  | PSet surely perhaps, VSet l => forallb (fun m => mem m l) surely && forallb (fun m => mem m perhaps) l
  | PCodes None _ present, VCodes _ => present
  | PCodes (Some (codes, more)) _ present, VCodes l =>
      let has c l := existsb (fun d => match c, d with
                                       | None, None => true
                                       | Some c, Some d => Z.eqb c d
                                       | _, _ => false
                                       end) l in
      present && forallb (fun c => has c l) codes && (more || forallb (fun c => has c codes) l)
  | _, _ => false
  end.

Record agrees (p : program) (k : known) (v : vehicle) : Prop := {
  agrees_facts : forall f, may_be (k_fact k f) (v_fact v f) = true;
  agrees_rows : forall t r, k_row k t r = v_row v t r;
  agrees_readings : forall q n taken, In (q, (n, taken)) (questions p) ->
    match taken with Some r => v_reading v q = r | None => (v_reading v q < n)%nat end;
  agrees_numbers : forall slot, (0 <= v_number v slot)%Z
}.
