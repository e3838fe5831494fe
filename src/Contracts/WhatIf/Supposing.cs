using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Compliance;
using Contracts.History;
using Contracts.Terms;
using NodaTime;
using NodaTime.Text;

namespace Contracts.WhatIf;

/// <summary>Builds the history that a change would have made.</summary>
/// <param name="real">What is known.</param>
/// <param name="rates">Tax rates and law known now; decisions of the past are made with them too.</param>
/// <param name="known">The moment of the question.</param>
/// <param name="zone">The shop's zone, which says on which day something was recorded.</param>
internal sealed class Supposing(ContractHistory real, ReferenceData rates, Instant known, DateTimeZone zone)
{
    private const string NoReason = "what if";

    private readonly List<Recorded> facts = [.. real.Entries.Where(entry => !entry.Event.IsNote)];

    /// <summary>The history with the change, or why the change itself could not have been.</summary>
    public (SupposedHistory? History, Refusal? Refusal) With(WhatIfChange change) => change switch
    {
        WhatIfChange.Added c => Add(c),
        WhatIfChange.Removed c => Remove(c),
        WhatIfChange.Changed c => Change(c),
        WhatIfChange.UnderLaw c => PutUnder(c.Pack),
        _ => throw new UnreachableException($"Nothing is written for {change.GetType().Name}."),
    };

    private (SupposedHistory?, Refusal?) Add(WhatIfChange.Added added)
    {
        var moment = added.At ?? known;
        var place = added.At is null ? facts.Count : facts.Count(fact => fact.At <= moment);
        if (added.Command.Body is ContractCommand.Sign or ContractCommand.Issue)
        {
            return (null, new Refusal(RefusalCode.FieldInvalid, "What is added is done on a signed contract, and is no paper.", "add.do"));
        }

        var origin = added.Command.Origin with { Reason = added.Command.Origin.Reason ?? NoReason };
        var (fact, refusal) = Decide(Through(place), added.Command with { Origin = origin }, moment, DayOf(moment));
        if (fact is null) { return (null, refusal); }
        facts.Insert(place, fact);
        return (Relived(null, fact, added.Command, place, fixedAnew: false), null);
    }

    private (SupposedHistory?, Refusal?) Remove(WhatIfChange.Removed removed)
    {
        var place = PlaceOf(removed.Fact);
        if (place < 0) { return (null, Unknown(removed.Fact)); }
        var fact = facts[place];
        if (fact.Event is ContractEvent.Signed)
        {
            return (null, new Refusal(RefusalCode.FieldInvalid, "Without its signing there is no contract to ask about.", "fact"));
        }

        facts.RemoveAt(place);
        return (Relived(fact, null, null, place, fixedAnew: false), null);
    }

    private (SupposedHistory?, Refusal?) Change(WhatIfChange.Changed changed)
    {
        var place = PlaceOf(changed.Fact);
        if (place < 0) { return (null, Unknown(changed.Fact)); }
        var fact = facts[place];
        var (command, refusal) = FactOverlay.Of(real.Contract, fact, changed.With);
        if (command is null) { return (null, refusal); }
        if (IsSame(command, FactOverlay.Original(real.Contract, fact))) { return (Relived(fact, fact, command, facts.Count, fixedAnew: false), null); }
        var isSigning = fact.Event is ContractEvent.Signed;
        if (isSigning && facts.Skip(1).Select(other => other.Event.On).DefaultIfEmpty(command.On).Min() is var first && first < command.On)
        {
            return (null, new Refusal(RefusalCode.OnBeforeSigning, $"Something is recorded of {Iso(first)}; nothing can lie before the signing.", "on", Iso(first)));
        }

        var asked = isSigning && command.Body is ContractCommand.Sign sign ? command with { Body = sign with { Quote = null, Shop = null } } : command;
        var origin = asked.Origin with { Reason = asked.Origin.Reason ?? NoReason };
        // A fact of another day is supposed to have been learned no sooner than on that day.
        (var then, refusal) = Decide(Through(place), asked with { Origin = origin }, fact.At, LocalDate.Max(DayOf(fact.At), command.On));
        if (refusal is { Code: RefusalCode.TooLate } && Sooner(place, asked with { Origin = origin }) is { } sooner) { return (sooner, null); }
        var unlawful = refusal is { Code: RefusalCode.UnlawfulTerms or RefusalCode.DisclosureMissing } ? refusal : null;
        if (then is null && unlawful is null) { return (null, refusal); }
        facts[place] = fact with { Event = TermsEvent(fact.Event, command) ?? then!.Event };
        return (Relived(fact, facts[place], command, place + 1, fact.Event is ContractEvent.Signed or ContractEvent.InstrumentExchanged, unlawful), null);
    }

    /// <summary>A choice of plan or home on an earlier day can only have been recorded by then, so that is supposed; null where that is refused as well.</summary>
    private SupposedHistory? Sooner(int place, Command.OnContract command)
    {
        var original = facts[place];
        var earlier = facts.Count(fact => DayOf(fact.At) <= command.On);
        if (earlier >= place) { return null; }
        var (then, _) = Decide(Through(earlier), command, command.On.AtStartOfDayInZone(zone).ToInstant(), command.On);
        if (then is null) { return null; }
        facts.RemoveAt(place);
        facts.Insert(earlier, then);
        return Relived(original, then, command, earlier, fixedAnew: false);
    }

    private (SupposedHistory?, Refusal?) PutUnder(string pack)
    {
        if (rates.Law.Find(pack) is not { } law)
        {
            return (null, new Refusal(RefusalCode.FieldInvalid, $"No law pack '{pack}' is known; `law list` has them, such as NY.1.", "law"));
        }

        var (signing, signed) = (facts[0], real.Signing);
        facts[0] = signing with { Event = signed with { LawPack = pack } };
        var found = TermsCheck.Of(law, AgreementFacts.Of(signed.On, signed.Terms, signed.Instrument), rates.Law.CounselNote(law.Jurisdiction)).Violations;
        var unlawful = found.Count == 0 ? null : new Refusal(RefusalCode.UnlawfulTerms, found[0].Detail, found[0].Field, found[0].Right, found[0].Citation);
        return (Relived(signing, facts[0], null, 1, fixedAnew: true, unlawful), null);
    }

    /// <summary>
    /// The signing or exchange as it would be. It is supposed even where the act forbids its terms, which is told: what they would
    /// have come to is a question worth an answer.
    /// </summary>
    private ContractEvent? TermsEvent(ContractEvent was, Command.OnContract command) => (was, command.Body) switch
    {
        (ContractEvent.Signed e, ContractCommand.Sign c) => new ContractEvent.Signed(
            c.Household, c.Instrument, c.State, c.Jurisdiction, c.StartOn, c.Terms, c.Accessories, c.WithPlan, e.Shop, e.Quote,
            c.State == e.State && command.On == e.On ? e.LawPack : rates.Law.For(c.State, command.On)?.Reference) { On = command.On, StartsAtDelivery = c.StartsAtDelivery },
        (ContractEvent.InstrumentExchanged e, ContractCommand.Exchange c) =>
            new ContractEvent.InstrumentExchanged(c.Instrument, c.Terms, c.Accessories, e.NewAgreement) { On = command.On },
        _ => null,
    };

    /// <summary>
    /// Lives through the facts again in the order of recording. What follows the change is decided again, to tell what would be refused; under
    /// other terms or another law the figures that the engine itself fixed in a fact are fixed anew, and what people paid stays.
    /// </summary>
    private SupposedHistory Relived(Recorded? original, Recorded? supposed, Command.OnContract? command, int place, bool fixedAnew, Refusal? unlawful = null)
    {
        var questioned = new List<QuestionedFact>();
        if (unlawful is not null) { questioned.Add(new QuestionedFact(original!, FactStanding.WouldBeRefused, unlawful)); }
        var lived = ContractHistory.Unsigned(real.Contract);
        for (var index = 0; index < facts.Count; index++)
        {
            var fact = facts[index];
            if (index >= place && !ReferenceEquals(fact, supposed))
            {
                var (then, refusal) = Decide(lived, FactOverlay.Original(real.Contract, fact), fact.At, DayOf(fact.At));
                if (refusal is not null && Question(fact, refusal) is { } question)
                {
                    questioned.Add(question);
                    if (question.Standing == FactStanding.FallsAway) { continue; }
                }

                if (fixedAnew) { fact = fact with { Event = FixedAnew(lived, fact.Event, then?.Event) }; }
            }

            lived = lived.Evolve(fact with { Sequence = (lived.Entries.IsEmpty ? 0 : lived.Entries[^1].Sequence) + 1 });
        }

        return new SupposedHistory(lived, original, supposed, command, [.. questioned]);
    }

    /// <summary>Null where the command would be refused on the real history too, by rates or law that came later: the change does not do that.</summary>
    private QuestionedFact? Question(Recorded fact, Refusal refusal)
    {
        // One payment has one reversal, and none without it: such a fact is about nothing.
        if (refusal.Code is RefusalCode.PaymentUnknown or RefusalCode.ReversalBeforePayment or RefusalCode.PaymentAlreadyReversed)
        {
            return new QuestionedFact(fact, FactStanding.FallsAway, refusal);
        }

        var before = ContractHistory.Of(real.Contract, [.. real.Entries.Where(entry => !entry.Event.IsNote && entry.Sequence < fact.Sequence)]);
        return Decide(before, FactOverlay.Original(real.Contract, fact), fact.At, DayOf(fact.At)).Refusal is null
            ? new QuestionedFact(fact, FactStanding.WouldBeRefused, refusal)
            : null;
    }

    private ContractEvent FixedAnew(ContractHistory lived, ContractEvent was, ContractEvent? then) => was switch
    {
        ContractEvent.InstrumentSwapped or ContractEvent.LossReported or ContractEvent.SteppedUp => then ?? was,
        ContractEvent.BoughtEarly bought when AccountFold.At(lived, rates, bought.On) is { } state && AccountFold.MayBuy(state.Status) =>
            Equity.EarlyPurchase.On(state) is var offer ? bought with { Price = offer.Price, Basis = offer.Basis, Tax = offer.Tax } : bought,
        _ => was,
    };

    /// <summary>The fact that a command brings, without what follows from it: the fold finds that again.</summary>
    private (Recorded? Fact, Refusal? Refusal) Decide(ContractHistory history, Command.OnContract command, Instant at, LocalDate recordedOn)
    {
        var body = command.Body is ContractCommand.Sign sign ? sign with { Quote = null, Shop = null } : command.Body;
        return ContractDecider.Decide(history, new DecisionContext(rates, recordedOn), command.Origin, command.On, body) switch
        {
            Decision.Accepted accepted => (new Recorded(
                accepted.Outcomes[0].Event, long.MaxValue, at, command.Origin.Key, command.Origin.By, command.Origin.Reason, null), null),
            Decision.Refused refused => (null, refused.Refusal),
            _ => throw new UnreachableException("A decision is accepted or refused."),
        };
    }

    /// <summary>By their lines: two lists of the same accessories are the same.</summary>
    private static bool IsSame(Command.OnContract one, Command.OnContract other) => CommandWriter.Line(one).ToJsonString() == CommandWriter.Line(other).ToJsonString();

    private ContractHistory Through(int place) => ContractHistory.Of(real.Contract, facts[..place]);

    private int PlaceOf(string key) => facts.FindIndex(fact => fact.Key == key);

    private Refusal Unknown(string key) =>
        new(RefusalCode.FieldInvalid, $"No fact of contract {real.Contract} has the key '{key}'; `history` has them.", "fact");

    private LocalDate DayOf(Instant at) => at.InZone(zone).Date;

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
