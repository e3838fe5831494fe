using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Households;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Households;

/// <summary>A question about all contracts of a family.</summary>
/// <param name="Household">The family's reference.</param>
/// <param name="From">The first day, or null for the day of the first signing.</param>
/// <param name="Through">The last day.</param>
/// <param name="Known">What was known.</param>
/// <param name="Pay">A payment whose shares are asked for, or null.</param>
public sealed record HouseholdQuestion(string Household, LocalDate? From, LocalDate Through, KnownAt Known, Money? Pay)
{
    /// <summary>The shares of that payment that are said; empty where none are.</summary>
    public ImmutableArray<EntryShare> Shares { get; init; } = [];
}

/// <summary>All contracts of a family over a span of days, and how a payment made on its last day would be dealt out.</summary>
/// <param name="Statement">The statement.</param>
/// <param name="Shares">The shares of the payment that was asked about, or null.</param>
public sealed record HouseholdLook(HouseholdStatement Statement, ImmutableArray<EntryShare>? Shares)
{
    /// <summary>Answers the question; exactly one of the answers is given.</summary>
    public static async Task<(HouseholdLook? Look, Refusal? Refusal)> ReadAsync(ContractsStore store, HouseholdQuestion question, CancellationToken stop)
    {
        var histories = await store.Reader.OfHouseholdAsync(question.Household, question.Known, stop).ConfigureAwait(false);
        var rates = await store.Reader.RatesAsync(question.Known, stop).ConfigureAwait(false);
        if (StatementCommand.Backward(question.From, question.Through) is { } backward) { return (null, backward); }
        if (HouseholdStatement.Of(question.Household, histories, rates, question.From, question.Through) is not { } statement)
        {
            return (null, Unknown(question.Household));
        }

        if (question.Pay is not { } amount) { return (new HouseholdLook(statement, null), null); }
        var (shares, refusal) = HouseholdPayment.Split(
            question.Household, amount, question.Shares, [.. histories.Select(one => AccountFold.At(one, rates, question.Through)).OfType<AccountState>()]);
        return refusal is null ? (new HouseholdLook(statement, shares), null) : (null, refusal);
    }

    /// <summary>The answer as JSON, in the shape of docs/interface.md.</summary>
    public string Json(Instant known) => AccountPrinter.Json(json => HouseholdStatementJson.Write(json, Statement, known, Shares));

    private static Refusal Unknown(string household) => new(
        RefusalCode.HouseholdWithoutContract, $"{household} has signed no contract by that day, as known at that moment.", "household");
}
