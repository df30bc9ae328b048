(** The order of the items of a program is meaningless: of a program and of any other of the same items the verdict on each
    vehicle is the same, and so is what the interpreter tells under each way of reading. *)

From Wherefore Require Export Bound.

Lemma forall2_eq {A} (l l' : list A) : Forall2 eq l l' -> l = l'.
Proof. induction 1; congruence. Qed.

Lemma each_eq {A} (l l' : list A) : each eq l l' -> forall a, In a l <-> In a l'.
Proof.
  intros (f & g) a; split; intros h.
  - destruct (f a h) as (b & hb & ->); exact hb.
  - destruct (g a h) as (b & hb & <-); exact hb.
Qed.

Lemma bool_none l : any Vehicle l = false <-> (forall a, In a l -> a = false).
Proof.
  split.
  - intros h a ha. destruct a; auto. apply bool_any_true in ha; congruence.
  - intros h. destruct (any Vehicle l) eqn:E; auto. apply bool_any_true in E. apply h, E.
Qed.

Lemma same_any_bool l l' : each eq l l' -> any Vehicle l = any Vehicle l'.
Proof.
  intros h. pose proof (each_eq _ _ h) as K.
  destruct (any Vehicle l) eqn:E, (any Vehicle l') eqn:E'; auto.
  - apply bool_any_true, K, bool_any_true in E; congruence.
  - apply bool_any_true, K, bool_any_true in E'; congruence.
Qed.

Lemma same_any_tv l l' : each eq l l' -> tv_any l = tv_any l'.
Proof.
  intros h. pose proof (each_eq _ _ h) as K.
  destruct (tv_any l) eqn:E.
  - symmetry; apply tv_any_F; intros a ha. apply (proj1 (tv_any_F l) E), K, ha.
  - destruct (tv_any l') eqn:E'; auto.
    + assert (tv_any l = F) by (apply tv_any_F; intros a ha; apply (proj1 (tv_any_F l') E'), K, ha). congruence.
    + apply tv_any_T, K, tv_any_T in E'; congruence.
  - symmetry; apply tv_any_T, K, tv_any_T, E.
Qed.

Lemma same_codes p h x x' some every : (forall c : code, x c = x' c) ->
  kleene_codes p h x some every = kleene_codes p h x' some every.
Proof.
  intros e; destruct p; auto; simpl. destruct present; auto.
  destruct (match read with Some read => read | None => _ end) as (codes, more).
  rewrite (map_ext _ _ e); reflexivity.
Qed.

Lemma vehicle_same : related Vehicle Vehicle eq eq.
Proof.
  constructor; simpl; try congruence; try (intros; subst; reflexivity).
  - intros l l' h; exact (same_any_bool l l' h).
  - intros l l' b h; rewrite (forall2_eq _ _ h); reflexivity.
  - intros l l' f f' h ->; rewrite (forall2_eq _ _ h); reflexivity.
  - intros f f' h x x' some some' every -> e _ _ _. destruct f'; auto. destruct h.
    + induction l as [| c l IH]; simpl; auto. rewrite e, IH; reflexivity.
    + f_equal. induction l as [| c l IH]; simpl; auto. rewrite e, IH; reflexivity.
    + induction l as [| c l IH]; simpl; auto. rewrite e, IH; reflexivity.
  - exact bool_none.
Qed.

Lemma known_same : related Known Known eq eq.
Proof.
  constructor; simpl; try congruence; try (intros; subst; reflexivity).
  - intros l l' h; exact (same_any_tv l l' h).
  - intros l l' b h; rewrite (forall2_eq _ _ h); reflexivity.
  - intros l l' f f' h ->; rewrite (forall2_eq _ _ h); reflexivity.
  - intros f f' h x x' some some' every -> e -> _ _. apply same_codes, e.
  - exact tv_any_F.
Qed.

Lemma alike_refl L (s : subject L) : alike (A := L) (B := L) eq eq s s.
Proof. constructor; auto. intros slot l l' h; rewrite (forall2_eq _ _ h); reflexivity. Qed.

Lemma top_same l l' : each (row_tells eq) l l' -> top l = top l'.
Proof.
  intros (f & g). pose proof (top_spec l) as h. pose proof (top_spec l') as h'.
  destruct (top l) as [n |], (top l') as [n' |]; auto.
  - destruct h as ((x & hx & tx & ex) & h), h' as ((y & hy & ty & ey) & h').
    destruct (f x hx) as (x' & hx' & en & et), (g y hy) as (y' & hy' & en' & et').
    assert (n <= n') by (rewrite <- ex, en; apply h'; congruence).
    assert (n' <= n) by (rewrite <- ey, <- en'; apply h; congruence).
    f_equal; lia.
  - destruct h as ((x & hx & tx & ex) & _). destruct (f x hx) as (x' & hx' & en & et). rewrite (h' x' hx') in et; congruence.
  - destruct h' as ((y & hy & ty & ey) & _). destruct (g y hy) as (y' & hy' & en & et). rewrite (h y' hy') in et; congruence.
Qed.

(** ** The verdict *)
Section Verdict.
Variables p q : program.
Hypothesis same : same_items p q.
Variable v : subject Vehicle.

Let holds_same c : holds Vehicle p v c = holds Vehicle q v c.
Proof. apply (holds_related _ _ _ _ vehicle_same _ _ same _ _ (alike_refl _ v)). Qed.

Lemma relabelled_same o : relabelled p v o = relabelled q v o.
Proof.
  unfold relabelled. erewrite top_same; [reflexivity |].
  apply rows_alike; [apply filter_perm, (s_becomes _ _ same) | intros; apply holds_same].
Qed.

Lemma by_lines_same : by_lines p v = by_lines q v.
Proof.
  unfold by_lines. erewrite top_same; [reflexivity |].
  apply rows_alike; [apply (s_lines _ _ same) |].
  intros x. apply (line_related _ _ _ _ vehicle_same _ _ same _ _ (alike_refl _ v)).
Qed.

Lemma verdict_same : verdict_of p v = verdict_of q v.
Proof.
  unfold verdict_of.
  rewrite (s_force _ _ same), (covered_related _ _ _ _ vehicle_same _ _ same _ _ (alike_refl _ v) : is_covered _ p v = _).
  destruct (negb _); auto.
  erewrite top_same; [| apply rows_alike; [apply (s_left_out _ _ same) | intros; apply holds_same]].
  rewrite by_lines_same. destruct top as [[| o] |]; auto; rewrite relabelled_same; reflexivity.
Qed.
End Verdict.

Theorem the_order_of_items_is_meaningless p q v : same_items p q -> the_verdict p v = the_verdict q v.
Proof. intros; apply verdict_same; assumption. Qed.
