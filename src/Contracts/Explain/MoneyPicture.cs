using System.Collections.Immutable;
using Contracts.History;
using Contracts.Payments;

namespace Contracts.Explain;

/// <summary>Money from one payment, or goodwill, as it lay at one step of the fold.</summary>
/// <param name="Fact">The event that brought it.</param>
/// <param name="IsGoodwill">Whether it is goodwill, which never becomes equity.</param>
/// <param name="Received">How much it was.</param>
/// <param name="Waiting">What of it waits.</param>
/// <param name="Paid">What it has paid, in the order in which it did.</param>
/// <param name="Refunds">What of it was given back, by refund.</param>
internal sealed record LotPicture(
    Recorded Fact, bool IsGoodwill, Money Received, Money Waiting,
    ImmutableArray<(ChargeItem Item, Money Amount)> Paid, ImmutableArray<(Recorded Refund, Money Amount)> Refunds);

/// <summary>All money that stands and all that is unpaid, at one step of the fold; a payment taken back is in it no more.</summary>
internal sealed record MoneyPicture(ImmutableArray<LotPicture> Lots, ImmutableArray<(ChargeItem Item, Money Open)> Open);

/// <summary>A set of terms from the moment it came into force.</summary>
/// <param name="Fact">The signing or the exchange that brought it.</param>
/// <param name="Terms">The terms.</param>
/// <param name="RentToCharge">The rent to charge under them.</param>
/// <param name="Before">Of an exchange: the money in the moment before, else null.</param>
/// <param name="NotCounted">M, the rent credit that no longer counts (M47).</param>
internal sealed record TermsPicture(Recorded Fact, Terms.ContractTerms Terms, Money RentToCharge, MoneyPicture? Before, Money NotCounted);
