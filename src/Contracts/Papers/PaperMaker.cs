using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Terms;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Papers;

/// <summary>Which paper is asked for, of which view.</summary>
/// <param name="Kind">Its kind.</param>
/// <param name="For">The key of the fact it is about, or null.</param>
/// <param name="On">As of the end of this day.</param>
/// <param name="Known">As known at this moment: what the history and the rates that come with it hold.</param>
/// <param name="Form">Which words it uses: those of the template set of this number.</param>
/// <param name="Again">Whether it was issued before: then it is made as it was, whatever it should have said.</param>
public sealed record PaperRequest(PaperKind Kind, string? For, LocalDate On, Instant Known, int Form = SigningData.NewestForm, bool Again = false);

/// <summary>
/// Makes papers from what is known of a contract. Pure: the same facts, rates and request always make the same paper.
/// </summary>
public static partial class PaperMaker
{
    /// <summary>The paper, or why there is none; exactly one of the two.</summary>
    /// <param name="history">What was known of the contract.</param>
    /// <param name="rates">The tax rates known then.</param>
    /// <param name="asked">What is asked for.</param>
    public static (Paper? Paper, Refusal? Refusal) Make(ContractHistory history, ReferenceData rates, PaperRequest asked)
    {
        var (fact, unknown) = FactOf(history, asked.Kind, asked.For);
        if (unknown is not null) { return (null, unknown); }
        if (fact is not null && fact.Event.On != asked.On)
        {
            return (null, new Refusal(
                RefusalCode.PaperDayWrong, $"A paper on '{fact.Key}' shows the account on {Iso(fact.Event.On)}, its own day.", "on", Iso(fact.Event.On)));
        }

        if (AccountFold.At(history, rates, asked.On) is not { } state)
        {
            return (null, new Refusal(RefusalCode.ContractUnknown, $"No contract {history.Contract} was signed by {Iso(asked.On)}.", "contract"));
        }

        if (fact is not null && fact.Event is not ContractEvent.PaymentReceived and not ContractEvent.BoughtEarly && state.IsOvertaken(fact.Sequence))
        {
            return (null, NotDue($"What '{fact.Key}' recorded has no effect as known then."));
        }

        var account = Account.Of(state, asked.Known);
        return Part(new Making(state, rates, account, fact, asked), View(state, account, asked));
    }

    /// <summary>The fact a paper is about, null for one on the account, or why there is none.</summary>
    public static (Recorded? Fact, Refusal? Refusal) FactOf(ContractHistory history, PaperKind kind, string? key)
    {
        if (!kind.NeedsFact())
        {
            return key is null
                ? (null, null)
                : (null, new Refusal(RefusalCode.PaperSubjectUnknown, $"A paper of the kind '{kind.Word()}' is on the account, not on a fact.", "for"));
        }

        foreach (var fact in history.Facts)
        {
            if ((fact.Key == key || (key is null && kind == PaperKind.Agreement)) && kind.IsAbout(fact.Event)) { return (fact, null); }
        }

        return (null, new Refusal(
            RefusalCode.PaperSubjectUnknown,
            key is null
                ? $"A paper of the kind '{kind.Word()}' needs the key of what it is for."
                : $"This contract has nothing with the key '{key}' that a paper of the kind '{kind.Word()}' could be for.",
            "for"));
    }

    /// <summary>What the parts are made from.</summary>
    private sealed record Making(AccountState State, ReferenceData Rates, Account Account, Recorded? Fact, PaperRequest Asked)
    {
        public ContractHistory History => State.History;
    }

    private static (Paper? Paper, Refusal? Refusal) Part(Making made, Paper view) => made.Asked.Kind switch
    {
        PaperKind.Agreement => Agreement(made, view),
        PaperKind.Receipt => Receipt(made, view),
        PaperKind.Statement => (view with { Statement = Statement(made) }, null),
        PaperKind.EarlyPurchase => Offer(made, view),
        PaperKind.Exchange => Exchange(made, view),
        PaperKind.Return => (view with { Return = Return(made) }, null),
        PaperKind.DefaultNotice => Default(made, view),
        PaperKind.BillOfSale => Sale(made, view),
        PaperKind.FinalPayment => Final(made, view),
        PaperKind.DisputeAnswer => (view with { Dispute = Answer(made), Title = "Answer to a dispute" }, null),
        _ => throw new UnreachableException($"No part is written for {made.Asked.Kind}."),
    };

    private static Paper View(AccountState state, Account account, PaperRequest asked)
    {
        var signed = state.History.Signing;
        var (version, since, instrument) = (1, signed.On, signed.Instrument);
        foreach (var fact in state.History.Facts)
        {
            if (fact.Event.On > state.On) { break; }
            if (fact.Event is not ContractEvent.InstrumentExchanged exchange || state.IsOvertaken(fact.Sequence)) { continue; }
            (version, since, instrument) = (version + 1, exchange.On, exchange.Instrument);
        }

        return new Paper(
            asked.Kind.Word(), account.Contract, signed.Household, signed.Shop ?? ContractEvent.Signed.MainShop, state.State,
            // A unit that came by a swap was never described.
            new PaperInstrument(account.Kind, account.Serial, instrument.Serial == account.Serial ? instrument.Condition : null),
            account.On, asked.Known, new TermsInForce(version, since), PackOf(state), account.Status, PaperFigures.Of(account));
    }

    /// <summary>The pack the contract is under on that day; one signed before packs were recorded has none to refer to.</summary>
    private static string? PackOf(AccountState state) => state.Law is { Version: > 0 } law ? law.Reference : null;

    private static Refusal NotDue(string detail) => new(RefusalCode.PaperNotDue, detail, "on");

    private static string Iso(LocalDate date) => LocalDatePattern.Iso.Format(date);
}
