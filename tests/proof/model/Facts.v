(** From what is reported to what is known: combinations that no vehicle shows are ruled out (`src/model/facts.rs`,
    `src/model/exclusion.rs`), and presumptions fill what is not known (`src/program/given.rs`). *)

From Wherefore Require Export Learned.

Inductive constraint := HasWord (f : key) (words : list nat) | AtLeast (f : key) (bound : Z) | NotEmpty (f : key).
Definition about (c : constraint) : key := match c with HasWord f _ | AtLeast f _ | NotEmpty f => f end.
(** No vehicle meets both. *)
Definition exclusion : Type := constraint * constraint.

Definition meets (c : constraint) (v : value) : bool :=
  match c, v with
  | HasWord _ words, VWord w => mem w words
  | AtLeast _ bound, VNumber z => (bound <=? z)%Z
  | NotEmpty _, VSet l => negb (is_empty l)
  | NotEmpty _, VCodes l => negb (is_empty l)
  | _, _ => false
  end.

Definition can_exist (rules : list exclusion) (v : key -> value) : bool :=
  forallb (fun r => negb (meets (fst r) (v (about (fst r))) && meets (snd r) (v (about (snd r))))) rules.

(** Whether a fact meets a constraint, as far as it is known. *)
Definition known_meets (c : constraint) (p : possible) : tv :=
  match c, p with
  | HasWord _ accepted, PWords words absent =>
      let perhaps := existsb (fun w => mem w accepted) words in
      between (perhaps && forallb (fun w => mem w accepted) words && negb absent) perhaps
  | AtLeast _ bound, PNumber low high absent =>
      let perhaps := (low <=? high)%Z && (bound <=? high)%Z in
      between (perhaps && (bound <=? low)%Z && negb absent) perhaps
  | NotEmpty _, PSet surely perhaps => between (negb (is_empty surely)) (negb (is_empty perhaps))
  | NotEmpty _, PCodes None _ present => between false present
  | NotEmpty _, PCodes (Some (codes, more)) absent _ =>
      between (negb (is_empty codes) && negb absent) (negb (is_empty codes) || more)
  | _, _ => F
  end.

(** What is left of a fact that does not meet the constraint. *)
Definition without (c : constraint) (p : possible) : possible :=
  match c, p with
  | HasWord _ accepted, PWords words absent => PWords (filter (fun w => negb (mem w accepted)) words) absent
  | AtLeast _ bound, PNumber low high absent => PNumber low (Z.min high (bound - 1)) absent
  | NotEmpty _, PSet surely _ => PSet surely surely
  | NotEmpty _, PCodes _ absent _ => PCodes (Some ([], false)) absent true
  | _, p => p
  end.

Definition facts := key -> possible.
Definition put (k : facts) (f : key) (p : possible) : facts := fun g => if Nat.eqb g f then p else k g.

(** One exclusion; [None]: what is known contradicts itself. *)
Definition apply (r : exclusion) (k : facts) : option (facts * bool) :=
  let (a, b) := r in
  match known_meets a (k (about a)), known_meets b (k (about b)) with
  | T, T => None
  | T, U => Some (put k (about b) (without b (k (about b))), true)
  | U, T => Some (put k (about a) (without a (k (about a))), true)
  | _, _ => Some (k, false)
  end.

Fixpoint pass (rules : list exclusion) (k : facts) : option (facts * bool) :=
  match rules with
  | [] => Some (k, false)
  | r :: rules =>
      match apply r k with
      | None => None
      | Some (k, changed) =>
          match pass rules k with None => None | Some (k, more) => Some (k, changed || more) end
      end
  end.

(** Until nothing more follows. *)
Fixpoint narrow (n : nat) (rules : list exclusion) (k : facts) : option facts :=
  match n with
  | 0 => Some k
  | S n => match pass rules k with None => None | Some (k, true) => narrow n rules k | Some (k, false) => Some k end
  end.

(** ** Presumptions *)

Inductive presumed := IsWord (w : nat) | IsNumber (z : Z) | IsText (t : nat) | NotListed (table : id) (asked : list key).
Record presumption := { presumes : key; value_presumed : presumed; presumed_where : condition }.

(** What a presumption makes of a fact; none where it does not apply: the fact is known, or cannot have the value. *)
Definition presume_fact (p : possible) (v : presumed) : option possible :=
  match p, v with
  | PWords words absent, IsWord w =>
      if (1 <? Z.of_nat (length words) + if absent then 1 else 0)%Z && mem w words then Some (PWords [w] false) else None
  | PNumber low high _, IsNumber z =>
      if (low <? high)%Z && (low <=? z)%Z && (z <=? high)%Z then Some (PNumber z z false) else None
  | PText None, IsText t => Some (PText (Some t))
  | _, _ => None
  end.

Definition is_open_text (p : possible) : bool := match p with PText None => true | _ => false end.

(** The conditions look at what is reported; what other presumptions fill in is not looked at. *)
Definition presume (p : program) (all : list presumption) (stranger : option key) (k : facts) : facts * list id :=
  let reported := in_known p [] {| k_fact := k; k_row := fun _ _ => None |} in
  let holding := filter (fun one => is_T (holds Known p reported (presumed_where one))) all in
  fold_left
    (fun (so_far : facts * list id) one =>
       let (k, unlisted) := so_far in
       match value_presumed one with
       | NotListed table asked => if existsb (fun f => is_open_text (k f)) asked then (k, table :: unlisted) else so_far
       | v =>
           if match stranger with Some f => Nat.eqb f (presumes one) | None => false end then so_far
           else match presume_fact (k (presumes one)) v with
                | Some filled => (put k (presumes one) filled, unlisted)
                | None => so_far
                end
       end) holding (k, []).

(** A row of a table that the vehicle is presumed not to be in is its own where it surely is. *)
Definition rows_known (p : program) (unlisted : list id) (k : facts) (table row : id) : option bool :=
  if mem table unlisted then
    let s := in_known p [] {| k_fact := k; k_row := fun _ _ => None |} in
    Some (existsb (fun r => Nat.eqb (row_id r) row && is_T (holds Known p s (row_where r))) (named table (tables p)))
  else None.

(** What is known, of what is reported. *)
Definition prepare (n : nat) (rules : list exclusion) (p : program) (all : list presumption) (stranger : option key)
    (reported : facts) : option (known * list id) :=
  match narrow n rules reported with
  | None => None
  | Some k =>
      let (k, unlisted) := presume p all stranger k in
      match narrow n rules k with
      | None => None
      | Some k => Some ({| k_fact := k; k_row := rows_known p unlisted k |}, unlisted)
      end
  end.

(** ** What is promised of this *)

Lemma known_meets_tells c p v : fits p v -> tells (known_meets c p) (meets c v).
Proof.
  intros h. destruct c, p; try solve [unfold fits in h; destruct v; simpl in *; try discriminate; try (right; reflexivity);
    try (destruct t; discriminate); try (destruct read as [(?, ?) |]; discriminate)].
  - exact (words_sound _ _ _ words h).
  - unfold fits in h; destruct v; simpl in *; try discriminate.
    + subst absent. destruct ((low <=? high)%Z && (bound <=? high)%Z), (bound <=? low)%Z; simpl; unfold tells; auto.
    + rewrite andb_true_iff, !Z.leb_le in h. apply tells_intro; intros e.
      * apply between_F in e as (_ & e). rewrite andb_false_iff, !Z.leb_gt in e. apply Z.leb_gt; lia.
      * apply between_T in e. rewrite !andb_true_iff, !Z.leb_le in e. apply Z.leb_le; lia.
  - unfold fits in h; destruct v; simpl in *; try discriminate. rewrite andb_true_iff in h. destruct h as (i & j).
    apply within_spec in i; apply within_spec in j. apply tells_intro; intros e.
    + apply between_F in e as (_ & e). destruct l as [| m l]; auto. destruct perhaps; [exfalso; apply (j m); simpl; auto | discriminate].
    + apply between_T in e. destruct surely as [| m s]; [discriminate |]. destruct l; [exfalso; apply (i m); simpl; auto | reflexivity].
  - apply codes_fit in h as [(-> & ->) | (-> & l & -> & h)].
    + destruct read as [(codes, more) |]; simpl.
      * rewrite andb_false_r; simpl. destruct (negb (is_empty codes) || more); unfold tells; auto.
      * destruct present; unfold tells; auto.
    + destruct read as [(codes, more) |]; simpl; [| unfold tells; auto]. destruct h as (sub & whole).
      apply tells_intro; intros e.
      * apply between_F in e as (_ & e). rewrite orb_false_iff in e. destruct e as (e & ->).
        destruct codes; [| discriminate]. destruct l as [| c l]; auto. exfalso; apply (whole eq_refl c); simpl; auto.
      * apply between_T in e. rewrite andb_true_iff in e. destruct codes as [| c codes]; [destruct e; discriminate |].
        destruct l; [exfalso; apply (sub c); simpl; auto | reflexivity].
Qed.

Lemma without_fits c p v : fits p v -> meets c v = false -> known_meets c p = U -> fits (without c p) v.
Proof.
  intros h m u. destruct c, p; auto.
  - unfold fits in *; destruct v; simpl in *; try discriminate; auto.
    apply mem_In, filter_In; split; [apply mem_In, h | rewrite m; reflexivity].
  - unfold fits in *; destruct v; simpl in *; try discriminate; auto.
    rewrite andb_true_iff, !Z.leb_le in *. rewrite Z.leb_gt in m. lia.
  - unfold fits in *; destruct v; simpl in *; try discriminate. destruct l; [| discriminate].
    rewrite andb_true_iff in *; tauto.
  - apply codes_fit in h as [(-> & ->) | (-> & l & -> & h)].
    + reflexivity.
    + simpl in m. destruct l; [reflexivity | discriminate].
Qed.

Section Narrowing.
Variable v : key -> value.
Definition all_fit (k : facts) : Prop := forall f, fits (k f) (v f).

Lemma put_fits k f p : all_fit k -> fits p (v f) -> all_fit (put k f p).
Proof. intros h hp g; unfold put. destruct (Nat.eqb_spec g f); [subst; exact hp | apply h]. Qed.

Lemma apply_fits r k : all_fit k -> negb (meets (fst r) (v (about (fst r))) && meets (snd r) (v (about (snd r)))) = true ->
  exists k' changed, apply r k = Some (k', changed) /\ all_fit k'.
Proof.
  destruct r as (a, b); simpl. intros h e. rewrite negb_true_iff, andb_false_iff in e.
  pose proof (known_meets_tells a _ _ (h (about a))) as ta. pose proof (known_meets_tells b _ _ (h (about b))) as tb.
  destruct (known_meets a (k (about a))) eqn:A, (known_meets b (k (about b))) eqn:B; eauto.
  - eexists _, _; split; [reflexivity |]. apply put_fits; auto. apply without_fits; auto.
    destruct e as [e | e]; auto. rewrite (tells_T _ _ tb eq_refl) in e; discriminate.
  - eexists _, _; split; [reflexivity |]. apply put_fits; auto. apply without_fits; auto.
    destruct e as [e | e]; auto. rewrite (tells_T _ _ ta eq_refl) in e; discriminate.
  - exfalso. rewrite (tells_T _ _ ta eq_refl), (tells_T _ _ tb eq_refl) in e. destruct e; discriminate.
Qed.

Lemma pass_fits rules k : can_exist rules v = true -> all_fit k ->
  exists k' changed, pass rules k = Some (k', changed) /\ all_fit k'.
Proof.
  revert k; induction rules as [| r rules IH]; intros k e h; simpl; eauto.
  simpl in e; rewrite andb_true_iff in e; destruct e as (e & e').
  destruct (apply_fits r k h e) as (k1 & c & -> & h1). destruct (IH k1 e' h1) as (k2 & c' & -> & h2). eauto.
Qed.

(** No vehicle that can exist is lost; so where what is known contradicts itself, there is none. *)
Theorem narrowing_loses_no_vehicle n rules k : can_exist rules v = true -> all_fit k ->
  exists k', narrow n rules k = Some k' /\ all_fit k'.
Proof.
  revert k; induction n as [| n IH]; intros k e h; simpl; eauto.
  destruct (pass_fits rules k e h) as (k1 & changed & -> & h1). destruct changed; eauto.
Qed.

Corollary a_contradiction_is_no_vehicle n rules k :
  narrow n rules k = None -> can_exist rules v = true -> ~ all_fit k.
Proof. intros e c h. destruct (narrowing_loses_no_vehicle n rules k c h) as (k' & e' & _); congruence. Qed.
End Narrowing.

(** What is presumed is one of the things that the fact can still be. *)
Theorem a_presumption_only_narrows p v filled : presume_fact p v = Some filled -> narrower filled p = true.
Proof.
  destruct p, v; simpl; try discriminate; try solve [destruct t; discriminate].
  - destruct (_ && mem w words) eqn:E; [| discriminate]. intros e; injection e as <-. apply andb_true_iff in E as (_ & m).
    simpl. rewrite m. destruct absent; reflexivity.
  - destruct (_ && _) eqn:E; [| discriminate]. intros e; injection e as <-. rewrite !andb_true_iff in E.
    destruct E as ((_ & l) & r). simpl. rewrite Z.leb_refl, l, r. destruct absent; reflexivity.
  - destruct t; [discriminate |]. intros e; injection e as <-. reflexivity.
Qed.
