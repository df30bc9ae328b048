(** What is known of a vehicle and the vehicle itself: the interpreter never leaves out the verdict. *)

From Wherefore Require Export Related.

(** A truth of what is known is unknown, or the vehicle's. *)
Definition tells (t : tv) (b : bool) : Prop := t = U \/ t = tv_of b.
Definition fits (p : possible) (v : value) : Prop := may_be p v = true.

Lemma tells_F t b : tells t b -> t = F -> b = false.
Proof. intros [-> | ->]; destruct b; simpl; congruence. Qed.
Lemma tells_T t b : tells t b -> t = T -> b = true.
Proof. intros [-> | ->]; destruct b; simpl; congruence. Qed.
Lemma tells_intro (t : tv) b : (t = F -> b = false) -> (t = T -> b = true) -> tells t b.
Proof. unfold tells; destruct t, b; simpl; intuition congruence. Qed.

Lemma mem_In n l : mem n l = true <-> In n l.
Proof.
  unfold mem; rewrite existsb_exists; split.
  - intros (x & hx & e); apply Nat.eqb_eq in e; congruence.
  - intros h; exists n; split; auto using Nat.eqb_refl.
Qed.

Lemma between_F a b : between a b = F -> a = false /\ b = false.
Proof. destruct a, b; simpl; auto; discriminate. Qed.
Lemma between_T a b : between a b = T -> a = true.
Proof. destruct a, b; simpl; auto; discriminate. Qed.

Lemma tv_any_T l : tv_any l = T <-> In T l.
Proof.
  unfold tv_any; induction l as [| a l IH]; simpl; [split; [discriminate | tauto] |].
  destruct a, (fold_right tv_either F l); simpl; split; intros; intuition (try congruence); discriminate.
Qed.

Lemma tv_any_F l : tv_any l = F <-> (forall a, In a l -> a = F).
Proof.
  unfold tv_any; induction l as [| a l IH]; simpl; [split; tauto |].
  destruct a, (fold_right tv_either F l); simpl; split; intros h; try discriminate;
    try (intros b [<- | hb]; auto; apply IH; auto; congruence); try reflexivity;
    try (specialize (h _ (or_introl eq_refl)); discriminate);
    exfalso; assert (K : forall a, In a l -> a = F) by auto; apply IH in K; discriminate.
Qed.

Lemma tv_all_T l : tv_all l = T <-> (forall a, In a l -> a = T).
Proof.
  unfold tv_all; induction l as [| a l IH]; simpl; [split; tauto |].
  destruct a, (fold_right tv_both T l); simpl; split; intros h; try discriminate;
    try (intros b [<- | hb]; auto; apply IH; auto; congruence); try reflexivity;
    try (specialize (h _ (or_introl eq_refl)); discriminate);
    exfalso; assert (K : forall a, In a l -> a = T) by auto; apply IH in K; discriminate.
Qed.

Lemma tv_all_F l : tv_all l = F <-> In F l.
Proof.
  unfold tv_all; induction l as [| a l IH]; simpl; [split; [discriminate | tauto] |].
  destruct a, (fold_right tv_both T l); simpl; split; intros; intuition (try congruence); discriminate.
Qed.

Lemma bool_any_true l : any Vehicle l = true <-> In true l.
Proof.
  unfold any; induction l as [| a l IH]; simpl; [split; [discriminate | tauto] |].
  destruct a; simpl; intuition congruence.
Qed.

Lemma unless_T t absent : unless_absent t absent = T -> t = T /\ absent = false.
Proof. destruct absent, t; simpl; auto; discriminate. Qed.
Lemma unless_F t absent : unless_absent t absent = F -> t = F.
Proof. destruct absent, t; simpl; auto; discriminate. Qed.

(** Each test of what is known, against the same test of the vehicle. *)

Lemma counts_of_truths l l' : Forall2 tells l l' ->
  (surely_hold l <= number_that_hold l' /\ number_that_hold l' <= perhaps_hold l)%Z.
Proof.
  unfold surely_hold, perhaps_hold, number_that_hold.
  induction 1 as [| t b l l' h _ IH]; simpl; [lia |].
  destruct h as [-> | ->]; destruct b; simpl length; lia.
Qed.

Lemma run_sound low high b z : (low <= z <= high)%Z -> tells (run_inside low high b) (inside b z).
Proof.
  intros h; unfold run_inside, inside; apply tells_intro; intros e.
  - apply between_F in e as (_ & e). destruct (least b), (most b); simpl in *;
      rewrite ?andb_false_iff, ?Z.leb_gt in *; try discriminate; try (destruct e; [left | right]; lia); try (left; lia); try (right; lia); try lia.
    all: rewrite ?andb_true_r in *; rewrite ?Z.leb_gt in *; try lia.
  - apply between_T in e. destruct (least b), (most b); simpl in *;
      rewrite ?andb_true_iff, ?Z.leb_le in *; try lia; auto.
Qed.

Lemma words_sound words absent v accepted :
  fits (PWords words absent) v ->
  tells (among_words words absent accepted) (match v with VWord w => mem w accepted | _ => false end).
Proof.
  unfold fits, among_words; destruct v; simpl; try discriminate; intros h; apply tells_intro; intros e; try reflexivity.
  - apply between_T in e. rewrite !andb_true_iff, negb_true_iff in e. destruct e; congruence.
  - apply between_F in e as (_ & e). apply mem_In in h.
    destruct (mem w accepted) eqn:E; auto.
    rewrite <- e; symmetry; apply existsb_exists; eauto.
  - apply between_T in e. rewrite !andb_true_iff, forallb_forall in e. apply mem_In in h. apply e, h.
Qed.

Lemma number_sound p v (t : Z -> Z -> tv) (b : Z -> bool) :
  fits p v -> (forall low high z, (low <= z <= high)%Z -> tells (t low high) (b z)) ->
  tells (kleene_number p t) (match v with VNumber z => b z | _ => false end).
Proof.
  intros h H. unfold fits, kleene_number in *. destruct p, v; simpl in h; try discriminate; try (right; reflexivity).
  - destruct (high <? low)%Z; [right; reflexivity |]. subst absent. destruct (t low high); simpl; [right | left | left]; reflexivity.
  - destruct (high <? low)%Z eqn:E; rewrite ?Z.ltb_lt, ?Z.ltb_ge, andb_true_iff, !Z.leb_le in *; [lia |].
    specialize (H low high z ltac:(lia)). destruct absent; simpl; auto.
    destruct H as [-> | ->]; [left | destruct (b z); [left | right]]; reflexivity.
  - destruct t0; discriminate.
  - destruct read as [(?, ?) |]; discriminate.
Qed.

Lemma stands_sound p v t b states :
  fits p v -> tells t b ->
  tells (kleene_stands p t states) (match v with VWord s => mem (state_for_the_count s b) states | _ => false end).
Proof.
  intros h ht. unfold kleene_stands.
  destruct p; try solve [unfold fits in h; destruct v; simpl in h; try discriminate; try (right; reflexivity);
    try (destruct t0; discriminate); try (destruct read as [(?, ?) |]; discriminate)].
  set (seen := _ ++ _).
  assert (K : fits (PWords seen absent) (match v with VWord s => VWord (state_for_the_count s b) | _ => v end)).
  { unfold fits in *; destruct v; simpl in *; try discriminate; auto.
    apply mem_In in h; apply mem_In; subst seen. apply in_or_app. unfold state_for_the_count.
    destruct (Nat.eqb w unsupported) eqn:E; [apply Nat.eqb_eq in E; subst w |].
    - destruct b; simpl.
      + right. apply mem_In in h; rewrite h. destruct ht as [-> | ->]; simpl; auto.
      + left. apply filter_In; split; auto. destruct ht as [-> | ->]; reflexivity.
    - rewrite andb_false_r. left. apply filter_In; split; auto. rewrite E; reflexivity. }
  pose proof (words_sound _ _ _ states K). destruct v; assumption.
Qed.

Definition same_code (c d : code) : bool :=
  match c, d with None, None => true | Some c, Some d => Z.eqb c d | _, _ => false end.
Lemma same_code_eq c d : same_code c d = true -> c = d.
Proof. destruct c, d; simpl; try congruence. intros e; apply Z.eqb_eq in e; congruence. Qed.

Lemma codes_fit read absent present v :
  fits (PCodes read absent present) v ->
  v = VAbsent /\ absent = true \/
  present = true /\ exists l, v = VCodes l /\
    match read with
    | None => True
    | Some (codes, more) => (forall c, In c codes -> In c l) /\ (more = false -> forall c, In c l -> In c codes)
    end.
Proof.
  unfold fits; destruct v; simpl; try (destruct read as [(?, ?) |]; discriminate); auto.
  - destruct read as [(?, ?) |]; auto.
  - destruct read as [(codes, more) |]; [| destruct present; try discriminate; eauto 6].
    rewrite !andb_true_iff, forallb_forall, orb_true_iff, forallb_forall. intros ((-> & h) & h').
    right; split; auto. exists l; split; auto; split.
    + intros c hc; specialize (h c hc); apply existsb_exists in h as (d & hd & e).
      apply (same_code_eq c d) in e; subst d; exact hd.
    + intros -> c hc. destruct h' as [h' | h']; [discriminate |].
      specialize (h' c hc); apply existsb_exists in h' as (d & hd & e). apply (same_code_eq c d) in e; subst d; exact hd.
Qed.

Lemma codes_sound p v h belongs belongs' some every :
  fits p v -> (forall c, tells (belongs c) (belongs' c)) ->
  (some = F -> forall c, belongs c = F) -> (every = T -> forall c, belongs c = T) -> every <> F -> some <> T ->
  tells (kleene_codes p h belongs some every)
    (match v with
     | VCodes l => match h with AnyCode => existsb belongs' l | NoCode => negb (existsb belongs' l) | OnlyCodes => forallb belongs' l end
     | _ => false
     end).
Proof.
  intros fit hb hs he ne ns.
  destruct p; try solve [unfold fits in fit; destruct v; simpl in fit; try discriminate; try (right; reflexivity);
    try (destruct t; discriminate)].
  unfold kleene_codes. destruct present.
  2: { apply codes_fit in fit as [(-> & _) | (? & _)]; [right; reflexivity | discriminate]. }
  apply codes_fit in fit as [(-> & ->) | (_ & l & -> & fit)].
  { destruct read as [(codes, more) |];
      match goal with |- tells (unless_absent ?t true) _ => destruct t end; simpl; unfold tells; auto. }
  destruct (match read with Some read => read | None => ([], true) end) as (codes, more) eqn:E.
  assert (fit' : (forall c, In c codes -> In c l) /\ (more = false -> forall c, In c l -> In c codes)).
  { destruct read; [subst p; exact fit | injection E as <- <-; split; [intros ? [] | discriminate]]. }
  clear E fit; destruct fit' as (sub & whole).
  set (further := if more then some else F). set (further' := if more then every else T).
  assert (anyT : tv_any (further :: map belongs codes) = T -> existsb belongs' l = true).
  { rewrite tv_any_T; simpl. intros [e | e]; [subst further; destruct more; congruence |].
    apply in_map_iff in e as (c & e & hc). apply existsb_exists; exists c; split; auto. apply (tells_T _ _ (hb c) e). }
  assert (anyF : tv_any (further :: map belongs codes) = F -> existsb belongs' l = false).
  { rewrite tv_any_F; simpl. intros e. destruct (existsb belongs' l) eqn:X; auto. apply existsb_exists in X as (c & hc & X).
    assert (belongs c = F).
    { destruct more; [apply hs; apply (e further); auto | apply e; right; apply in_map; auto]. }
    rewrite (tells_F _ _ (hb c) H) in X; discriminate. }
  assert (allT : tv_all (further' :: map belongs codes) = T -> forallb belongs' l = true).
  { rewrite tv_all_T; simpl. intros e. apply forallb_forall; intros c hc. apply (tells_T _ _ (hb c)).
    destruct more; [apply he; apply (e further'); auto | apply e; right; apply in_map; auto]. }
  assert (allF : tv_all (further' :: map belongs codes) = F -> forallb belongs' l = false).
  { rewrite tv_all_F; simpl. intros [e | e]; [subst further'; destruct more; congruence |].
    apply in_map_iff in e as (c & e & hc). destruct (forallb belongs' l) eqn:X; auto.
    rewrite forallb_forall in X; specialize (X c (sub c hc)). rewrite (tells_F _ _ (hb c) e) in X; discriminate. }
  apply tells_intro; intros e; [apply unless_F in e | apply unless_T in e as (e & _)]; destruct h; auto.
  - destruct (tv_any (further :: map belongs codes)); simpl in e; try discriminate. rewrite anyT; auto.
  - destruct (tv_any (further :: map belongs codes)); simpl in e; try discriminate. rewrite anyF; auto.
Qed.

Lemma any_tells l l' : each tells l l' -> tells (tv_any l) (any Vehicle l').
Proof.
  intros (f & g). apply tells_intro.
  - rewrite tv_any_F; intros e. destruct (any Vehicle l') eqn:X; auto. apply bool_any_true in X.
    destruct (g _ X) as (a & ha & t). rewrite (tells_F _ _ t (e _ ha)); reflexivity.
  - rewrite tv_any_T; intros e. destruct (f _ e) as (b & hb & t). rewrite (tells_T _ _ t eq_refl) in hb.
    apply bool_any_true; exact hb.
Qed.

Ltac easy_tells := unfold tells; intuition (subst; simpl in *; auto).

Lemma text_sound p v among is : fits p v -> tells (is_text Known p among is) (is_text Vehicle v among is).
Proof.
  unfold fits; destruct p, v; simpl; try discriminate; try (right; reflexivity);
    try (destruct read as [(?, ?) |]; discriminate); destruct t; try discriminate; try (right; reflexivity).
  - intros e; apply Nat.eqb_eq in e; subst; right; reflexivity.
  - intros _. destruct among; simpl; [right | left]; destruct is; reflexivity.
Qed.

Lemma there_sound p v : fits p v -> tells (kleene_there p) (is_there Vehicle v).
Proof.
  unfold fits, kleene_there. destruct p, v; simpl; try discriminate;
    try (destruct t; discriminate); try (destruct read as [(?, ?) |]; discriminate); try (right; reflexivity); intros h; subst.
  - destruct words; [right | left]; reflexivity.
  - destruct absent, words; simpl in *; try discriminate; [left | right]; reflexivity.
  - destruct (low <=? high)%Z; [left | right]; reflexivity.
  - rewrite andb_true_iff, !Z.leb_le in h. destruct absent; simpl; [left | right; reflexivity].
    destruct (Z.leb_spec low high); [reflexivity | lia].
  - destruct read as [(?, ?) |]; subst; destruct present; [left | right | left | right]; reflexivity.
  - destruct read as [(?, ?) |]; simpl in h; destruct present; try discriminate; destruct absent; [left | right | left | right]; reflexivity.
Qed.

Lemma set_sound p v m : fits p v -> tells (in_set Known p m) (in_set Vehicle v m).
Proof.
  unfold fits; destruct p, v; simpl; try discriminate; try (left; reflexivity).
  rewrite andb_true_iff, !forallb_forall. intros (s & p). apply tells_intro; intros e.
  - apply between_F in e as (_ & e). destruct (mem m l) eqn:X; auto. apply mem_In in X. rewrite (p _ X) in e; discriminate.
  - apply between_T in e. apply mem_In in e. apply s, e.
Qed.

Lemma even_sound p v even : fits p v -> tells (is_even Known p even) (is_even Vehicle v even).
Proof.
  intros h; apply (number_sound p v _ (fun z => Bool.eqb (z mod 2 =? 0)%Z even)); auto.
  intros low high z hz. destruct (low =? high)%Z eqn:E; [| left; reflexivity].
  apply Z.eqb_eq in E. replace z with low by lia. right; reflexivity.
Qed.

Lemma how_many_sound l l' b : Forall2 tells l l' -> tells (how_many Known l b) (how_many Vehicle l' b).
Proof. intros h; apply counts_of_truths in h; apply run_sound; exact h. Qed.

Lemma how_many_to_sound l l' p v : Forall2 tells l l' -> fits p v ->
  tells (how_many_to Known l p) (how_many_to Vehicle l' v).
Proof.
  intros h hp; apply counts_of_truths in h.
  apply (number_sound p v _ (fun z => number_that_hold l' <=? z)%Z hp).
  intros low high z hz. apply tells_intro; intros e.
  - apply between_F in e as (_ & e). apply Z.leb_gt in e. apply Z.leb_gt. lia.
  - apply between_T in e. apply Z.leb_le in e. apply Z.leb_le. lia.
Qed.

Lemma known_tells : related Known Vehicle tells fits.
Proof.
  constructor; simpl.
  - right; reflexivity.
  - right; reflexivity.
  - left; reflexivity.
  - intros ? [] [-> | ->]; unfold tells; auto.
  - intros ? [] ? [] [-> | ->] [-> | ->]; unfold tells; auto.
  - intros l l' h; exact (any_tells l l' h).
  - exact how_many_sound.
  - exact how_many_to_sound.
  - intros f f' words h; unfold kleene_words. destruct f; try solve [unfold fits in h; destruct f'; simpl in h; try discriminate;
      try (destruct t; discriminate); try (destruct read as [(?, ?) |]; discriminate); right; reflexivity].
    apply words_sound, h.
  - intros f f' b h. apply (number_sound f f' _ (inside b)); auto using run_sound.
  - intros; apply text_sound; assumption.
  - intros; apply even_sound; assumption.
  - apply there_sound.
  - intros; apply set_sound; assumption.
  - intros; apply stands_sound; assumption.
  - intros f f' h x x' some some' every hf hx _ hs he.
    apply codes_sound; auto.
    + destruct some; simpl; try discriminate; auto.
    + destruct every; [auto | discriminate].
    + destruct every; discriminate.
    + destruct some; discriminate.
  - exact tv_any_F.
  - discriminate.
Qed.

Lemma checker_tells : related Checker Vehicle tells fits.
Proof.
  destruct known_tells. constructor; auto.
Qed.
