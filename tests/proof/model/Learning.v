(** Learning a fact never adds a verdict: neither to the exact set, nor to what the interpreter tells. *)

From Wherefore Require Export Order.

(** The first leaves less of a fact possible than the second, and something. *)
Definition within_list (l' l : list nat) : bool := forallb (fun n => mem n l) l'.
Definition codes_within (l' l : list code) : bool := forallb (fun c => existsb (same_code c) l) l'.
Definition read_of (read : option (list code * bool)) : list code * bool :=
  match read with Some read => read | None => ([], true) end.

Definition narrower (p' p : possible) : bool :=
  match p', p with
  | PWords w' a', PWords w a => within_list w' w && implb a' a && (negb (is_empty w') || a')
  | PNumber l' h' a', PNumber l h a => implb a' a && if (l' <=? h')%Z then (l <=? l')%Z && (h' <=? h)%Z else a'
  | PText t', PText t =>
      match t, t' with None, _ => true | Some t, Some t' => Nat.eqb t t' | Some _, None => false end
  | PSet s' m', PSet s m => within_list s s' && within_list m' m && within_list s' m'
  | PCodes r' a' p', PCodes r a p =>
      let (c', more') := read_of r' in
      let (c, more) := read_of r in
      implb a' a && implb p' p && (p' || a')
      && (negb p' || codes_within c c' && (more || negb more' && codes_within c' c))
  | _, _ => false
  end.

Definition le (t t' : tv) : Prop := t = U \/ t = t'.
Definition wider (p p' : possible) : Prop := narrower p' p = true.

Lemma le_intro t t' : (t = F -> t' = F) -> (t = T -> t' = T) -> le t t'.
Proof. unfold le; destruct t, t'; intuition congruence. Qed.
Lemma le_F t t' : le t t' -> t = F -> t' = F.
Proof. intros [-> | ->]; congruence. Qed.
Lemma le_T t t' : le t t' -> t = T -> t' = T.
Proof. intros [-> | ->]; congruence. Qed.

Lemma within_spec l' l : within_list l' l = true <-> incl l' l.
Proof.
  unfold within_list; rewrite forallb_forall; split; intros h x hx; [apply mem_In, h, hx | apply mem_In, h, hx].
Qed.
Lemma codes_within_spec l' l : codes_within l' l = true -> incl l' l.
Proof.
  unfold codes_within; rewrite forallb_forall; intros h c hc. specialize (h c hc).
  apply existsb_exists in h as (d & hd & e). apply same_code_eq in e; subst; exact hd.
Qed.

(** What is narrower leaves no value possible that the wider does not. *)
Lemma narrower_fits p' p v : narrower p' p = true -> fits p' v -> fits p v.
Proof.
  destruct p', p; simpl narrower; try discriminate.
  - rewrite !andb_true_iff, within_spec. intros ((i & a) & _). unfold fits; destruct v; simpl; auto.
    + destruct absent; simpl in a; congruence.
    + rewrite !mem_In; apply i.
  - rewrite andb_true_iff. intros (a & s). unfold fits; destruct v; simpl; auto.
    + destruct absent; simpl in a; congruence.
    + rewrite !andb_true_iff, !Z.leb_le. intros h. rewrite (proj2 (Z.leb_le low high)), andb_true_iff, !Z.leb_le in s; lia.
  - destruct t0 as [t0 |].
    + destruct t as [t |]; [| discriminate]. intros e; apply Nat.eqb_eq in e; subst; auto.
    + intros _; unfold fits; destruct v; simpl; destruct t; auto.
  - rewrite !andb_true_iff, !within_spec. intros ((i & j) & _). unfold fits; destruct v; simpl; auto.
    rewrite !andb_true_iff. fold (within_list surely l) (within_list l perhaps) (within_list surely0 l) (within_list l perhaps0).
    rewrite !within_spec. intros (h & h'); split; eauto using incl_tran.
  - destruct (read_of read) as (c', more') eqn:E', (read_of read0) as (c, more) eqn:E.
    rewrite !andb_true_iff. intros (((a & p) & _) & s) h.
    apply codes_fit in h as [(-> & ->) | (-> & l & -> & h)].
    + unfold fits; simpl. destruct absent0; [| discriminate]. destruct read0 as [(?, ?) |]; reflexivity.
    + simpl in p; subst present0; simpl in s; rewrite andb_true_iff in s; destruct s as (i & s). apply codes_within_spec in i.
      assert (h' : (forall d, In d c' -> In d l) /\ (more' = false -> forall d, In d l -> In d c')).
      { destruct read as [(?, ?) |]; simpl in E'; injection E' as <- <-; [exact h | split; [intros ? [] | discriminate]]. }
      destruct h' as (sub & whole). unfold fits; destruct read0 as [(cs, m) |]; simpl in *; auto.
      injection E as -> ->. rewrite andb_true_iff, forallb_forall; split.
      * intros d hd; apply existsb_exists; exists d; split; [apply sub, i, hd |]. destruct d; auto using Z.eqb_refl.
      * apply orb_true_iff. apply orb_true_iff in s as [-> | s]; [left; reflexivity | right].
        rewrite andb_true_iff, negb_true_iff in s; destruct s as (-> & s). apply codes_within_spec in s.
        apply forallb_forall; intros d hd; apply existsb_exists; exists d; split; [apply s, whole; auto |].
        destruct d; auto using Z.eqb_refl.
Qed.

(** ** Each test: what was told stays told *)

Lemma words_le w a w' a' accepted : wider (PWords w a) (PWords w' a') ->
  le (among_words w a accepted) (among_words w' a' accepted).
Proof.
  unfold wider; simpl; rewrite !andb_true_iff, within_spec. intros ((i & ha) & some). unfold among_words.
  apply le_intro; intros e.
  - apply between_F in e as (_ & e).
    assert (existsb (fun x => mem x accepted) w' = false).
    { destruct (existsb _ w') eqn:E; auto. apply existsb_exists in E as (x & hx & m). rewrite <- e; symmetry.
      apply existsb_exists; eauto. }
    rewrite H; reflexivity.
  - apply between_T in e. rewrite !andb_true_iff, forallb_forall, negb_true_iff in e. destruct e as ((_ & h) & ->).
    destruct a'; [discriminate |]. rewrite orb_false_r in some.
    assert (K : forall x, In x w' -> mem x accepted = true) by auto.
    destruct w' as [| x w']; [discriminate |].
    assert (existsb (fun x => mem x accepted) (x :: w') = true) by (apply existsb_exists; exists x; split; [left; reflexivity | apply K; left; reflexivity]).
    rewrite H. rewrite (proj2 (forallb_forall _ _) K). reflexivity.
Qed.

Lemma counts_le l l' : Forall2 le l l' ->
  (surely_hold l <= surely_hold l' /\ surely_hold l' <= perhaps_hold l' /\ perhaps_hold l' <= perhaps_hold l)%Z.
Proof.
  unfold surely_hold, perhaps_hold, number_that_hold.
  induction 1 as [| t t' l l' h _ IH]; simpl; [lia |].
  destruct h as [-> | ->]; destruct t'; simpl length; lia.
Qed.

Lemma run_le low high low' high' b : (low <= low')%Z -> (low' <= high')%Z -> (high' <= high)%Z ->
  le (run_inside low high b) (run_inside low' high' b).
Proof.
  intros h1 h2 h3. unfold run_inside. apply le_intro; intros e.
  - apply between_F in e as (e1 & e2).
    destruct (least b) as [l |], (most b) as [m |]; simpl in *; rewrite ?andb_false_iff, ?andb_true_r, ?Z.leb_gt in *;
      try discriminate; unfold between.
    + destruct (Z.leb_spec l low'), (Z.leb_spec high' m), (Z.leb_spec l high'), (Z.leb_spec low' m); simpl; auto; lia.
    + destruct (Z.leb_spec l low'), (Z.leb_spec l high'); simpl; auto; lia.
    + destruct (Z.leb_spec high' m), (Z.leb_spec low' m); simpl; auto; lia.
  - apply between_T in e.
    destruct (least b) as [l |], (most b) as [m |]; simpl in *; rewrite ?andb_true_iff, ?Z.leb_le in *; unfold between; auto.
    + destruct (Z.leb_spec l low'), (Z.leb_spec high' m); simpl; auto; lia.
    + destruct (Z.leb_spec l low'); simpl; auto; lia.
    + destruct (Z.leb_spec high' m); auto; lia.
Qed.

Lemma number_le p p' t t' : wider p p' ->
  (forall low high low' high', (low <= low')%Z -> (low' <= high')%Z -> (high' <= high)%Z -> le (t low high) (t' low' high')) ->
  le (kleene_number p t) (kleene_number p' t').
Proof.
  unfold wider; destruct p, p'; simpl; try discriminate; try (right; reflexivity).
  rewrite andb_true_iff. intros (a & h) H.
  destruct (Z.ltb_spec high low), (Z.ltb_spec high0 low0).
  - right; reflexivity.
  - rewrite (proj2 (Z.leb_le low0 high0)), andb_true_iff, !Z.leb_le in h by lia. lia.
  - destruct (Z.leb_spec low0 high0); [lia |]. subst absent0. simpl in a; subst absent.
    destruct (t low high); simpl; unfold le; auto.
  - rewrite (proj2 (Z.leb_le low0 high0)), andb_true_iff, !Z.leb_le in h by lia.
    specialize (H low high low0 high0 ltac:(lia) ltac:(lia) ltac:(lia)).
    destruct absent0; simpl in a; [subst absent; destruct H as [-> | ->]; simpl; [left | right]; reflexivity |].
    destruct H as [-> | ->]; destruct absent; simpl; try destruct (t' low0 high0); unfold le; simpl; auto.
Qed.

Lemma stands_le p p' t t' states : wider p p' -> le t t' -> le (kleene_stands p t states) (kleene_stands p' t' states).
Proof.
  unfold wider; intros h ht; destruct p, p'; try discriminate h; try (right; reflexivity).
  apply words_le. unfold wider; simpl narrower in *.
  rewrite !andb_true_iff, !within_spec in *. destruct h as ((i & a) & some). split; [split |]; auto.
  - intros s; rewrite !in_app_iff, !filter_In. intros [(hs & n) | hs].
    + left; split; [apply i, hs |]. destruct (Nat.eqb s unsupported); simpl in *; auto. destruct ht as [-> | ->]; auto.
    + right. destruct (mem unsupported words0) eqn:E; [| destruct hs].
      assert (mem unsupported words = true) by (apply mem_In, i, mem_In, E).
      rewrite H. destruct ht as [-> | ->]; [destruct t' |]; simpl in *; tauto.
  - apply orb_true_iff. apply orb_true_iff in some as [some |]; auto. left.
    destruct words0 as [| s w]; [discriminate |]. destruct (Nat.eqb s unsupported) eqn:E.
    + apply Nat.eqb_eq in E; subst s. simpl. destruct t'; simpl; try reflexivity.
      destruct (filter _ w); reflexivity.
    + simpl filter; rewrite E; reflexivity.
Qed.

Lemma unless_le t t' absent absent' : le t t' -> implb absent' absent = true ->
  le (unless_absent t absent) (unless_absent t' absent').
Proof. intros [-> | ->]; destruct absent, absent', t'; simpl; unfold le; auto; discriminate. Qed.

Lemma codes_le p p' h x x' some some' every :
  wider p p' -> (forall c, le (x c) (x' c)) -> le some some' ->
  (some = F -> forall c, x c = F) -> (every = T -> forall c, x c = T) -> every <> F -> some <> T -> some' <> T ->
  le (kleene_codes p h x some every) (kleene_codes p' h x' some' every).
Proof.
  unfold wider; intros n hx hs hn he ne ns ns'; destruct p, p'; try discriminate n; try (right; reflexivity).
  simpl narrower in n. unfold kleene_codes; fold (read_of read); fold (read_of read0).
  destruct (read_of read) as (c, more), (read_of read0) as (c', more').
  rewrite !andb_true_iff in n. destruct n as (((a & pr) & one) & s).
  destruct present0.
  2: { simpl in one; subst absent0; simpl in a; subst absent. destruct present; [| right; reflexivity].
       match goal with |- le (unless_absent ?t true) _ => destruct t end; simpl; unfold le; auto. }
  simpl in pr; subst present; simpl in s; rewrite andb_true_iff in s; destruct s as (i & s). apply codes_within_spec in i.
  assert (whole : more = false -> more' = false /\ incl c' c).
  { intros ->; simpl in s. rewrite andb_true_iff, negb_true_iff in s; destruct s as (-> & s).
    split; auto using codes_within_spec. }
  assert (anyT : tv_any ((if more then some else F) :: map x c) = T -> tv_any ((if more' then some' else F) :: map x' c') = T).
  { rewrite !tv_any_T; simpl. intros [e | e]; [destruct more; congruence |].
    apply in_map_iff in e as (d & e & hd). right; apply in_map_iff; exists d; split; auto. apply (le_T _ _ (hx d) e). }
  assert (anyF : tv_any ((if more then some else F) :: map x c) = F -> tv_any ((if more' then some' else F) :: map x' c') = F).
  { rewrite !tv_any_F; simpl. intros e b hb. destruct more.
    - assert (some = F) by (apply e; auto). specialize (hn H). destruct hb as [<- | hb].
      + destruct more'; auto. apply (le_F _ _ hs H).
      + apply in_map_iff in hb as (d & <- & hd). apply (le_F _ _ (hx d) (hn d)).
    - destruct (whole eq_refl) as (-> & j). destruct hb as [<- | hb]; auto.
      apply in_map_iff in hb as (d & <- & hd). apply (le_F _ _ (hx d)), e; right; apply in_map, j, hd. }
  assert (allT : tv_all ((if more then every else T) :: map x c) = T -> tv_all ((if more' then every else T) :: map x' c') = T).
  { rewrite !tv_all_T; simpl. intros e b hb. destruct more.
    - assert (every = T) by (apply e; auto). specialize (he H). destruct hb as [<- | hb].
      + destruct more'; auto.
      + apply in_map_iff in hb as (d & <- & hd). apply (le_T _ _ (hx d) (he d)).
    - destruct (whole eq_refl) as (-> & j). destruct hb as [<- | hb]; auto.
      apply in_map_iff in hb as (d & <- & hd). apply (le_T _ _ (hx d)), e; right; apply in_map, j, hd. }
  assert (allF : tv_all ((if more then every else T) :: map x c) = F -> tv_all ((if more' then every else T) :: map x' c') = F).
  { rewrite !tv_all_F; simpl. intros [e | e]; [destruct more; congruence |].
    apply in_map_iff in e as (d & e & hd). right; apply in_map_iff; exists d; split; auto. apply (le_F _ _ (hx d) e). }
  set (s1 := tv_any ((if more then some else F) :: map x c)) in *.
  set (s1' := tv_any ((if more' then some' else F) :: map x' c')) in *.
  set (s2 := tv_all ((if more then every else T) :: map x c)) in *.
  set (s2' := tv_all ((if more' then every else T) :: map x' c')) in *.
  clearbody s1 s1' s2 s2'.
  assert (K : le (match h with AnyCode => s1 | NoCode => tv_neg s1 | OnlyCodes => s2 end)
                 (match h with AnyCode => s1' | NoCode => tv_neg s1' | OnlyCodes => s2' end)).
  { destruct h; apply le_intro; auto; intros e; destruct s1; try discriminate; [rewrite anyT | rewrite anyF]; auto. }
  apply unless_le; assumption.
Qed.

Lemma there_le p p' : wider p p' -> le (kleene_there p) (kleene_there p').
Proof.
  unfold wider, kleene_there; destruct p, p'; simpl; try discriminate; try (right; reflexivity).
  - rewrite !andb_true_iff, within_spec. intros ((i & a) & some).
    destruct absent0; simpl in *; [subst absent; destruct words0 as [| x w], words as [| y u]; simpl; unfold le; auto |].
    + exfalso; apply (i x); simpl; auto.
    + destruct absent, words; simpl; unfold le; auto. destruct words0; [discriminate |]. exfalso; apply (i n); simpl; auto.
  - rewrite andb_true_iff. intros (a & h). destruct (Z.leb_spec low0 high0).
    + rewrite andb_true_iff, !Z.leb_le in h. rewrite (proj2 (Z.leb_le low high)) by lia.
      destruct absent, absent0; simpl in *; unfold le; auto; discriminate.
    + subst absent0; simpl in a; subst absent. destruct (Z.leb_spec low high); simpl; unfold le; auto.
  - destruct (read_of read) as (c, more), (read_of read0) as (c', more'). rewrite !andb_true_iff.
    intros (((a & pr) & one) & _). destruct absent, absent0, present, present0; simpl in *; unfold le; auto; discriminate.
Qed.

Lemma known_learns : related Known Known le wider.
Proof.
  constructor; simpl.
  - right; reflexivity.
  - right; reflexivity.
  - left; reflexivity.
  - intros ? [] [-> | ->]; unfold le; auto.
  - intros ? [] ? [] [-> | ->] [-> | ->]; unfold le; auto.
  - intros l l' (f & g). apply le_intro.
    + unfold any; simpl. fold (tv_any l) (tv_any l'). rewrite !tv_any_F. intros e b hb.
      destruct (g b hb) as (a & ha & r). apply (le_F _ _ r), e, ha.
    + unfold any; simpl. fold (tv_any l) (tv_any l'). rewrite !tv_any_T. intros e.
      destruct (f _ e) as (b & hb & r). rewrite (le_T _ _ r eq_refl) in hb; exact hb.
  - intros l l' b h; apply counts_le in h; apply run_le; lia.
  - intros l l' f f' h w; apply counts_le in h. apply number_le; auto. intros low high low' high' h1 h2 h3.
    apply le_intro; intros e.
    + apply between_F in e as (e1 & e2). rewrite Z.leb_gt in e1, e2. unfold between.
      destruct (Z.leb_spec (perhaps_hold l') low'), (Z.leb_spec (surely_hold l') high'); auto; lia.
    + apply between_T in e; rewrite Z.leb_le in e. unfold between. destruct (Z.leb_spec (perhaps_hold l') low'); auto; lia.
  - intros f f' words h; unfold kleene_words, wider in *; destruct f, f'; try discriminate h; try (right; reflexivity).
    apply words_le, h.
  - intros f f' b h; apply number_le; auto using run_le.
  - unfold wider; intros f f' among is h; destruct f, f'; try discriminate h; try (right; reflexivity).
    simpl in h. destruct t as [t |].
    + destruct t0; [| discriminate]. apply Nat.eqb_eq in h; subst; right; reflexivity.
    + destruct among; [| left; reflexivity]. right; destruct t0; destruct is; reflexivity.
  - intros f f' even h; apply number_le; auto. intros low high low' high' h1 h2 h3.
    destruct (Z.eqb_spec low high); [| left; reflexivity]. right.
    replace low' with low by lia. replace high' with high by lia. rewrite (proj2 (Z.eqb_eq low high)) by assumption. reflexivity.
  - apply there_le.
  - unfold wider; intros f f' m h; destruct f, f'; try discriminate h; try (left; reflexivity).
    simpl in h; rewrite !andb_true_iff, !within_spec in h. destruct h as ((i & j) & o).
    apply le_intro; intros e.
    + apply between_F in e as (_ & e). unfold between.
      destruct (mem m surely0) eqn:E; [exfalso; apply mem_In, o, j, mem_In in E; congruence |].
      destruct (mem m perhaps0) eqn:E'; [exfalso; apply mem_In, j, mem_In in E'; congruence |]. reflexivity.
    + apply between_T, mem_In, i, mem_In in e. rewrite e; reflexivity.
  - intros; apply stands_le; assumption.
  - intros f f' h x x' some some' every hf hx hs hn he. apply codes_le; auto.
    + destruct hs as [-> | ->]; unfold le; auto.
    + destruct some; simpl; try discriminate; auto.
    + destruct every; [auto | discriminate].
    + destruct every; discriminate.
    + destruct some; discriminate.
    + destruct some'; discriminate.
  - exact tv_any_F.
  - discriminate.
Qed.
