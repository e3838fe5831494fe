using Contracts.Law;
using Contracts.Payments;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.History;

/// <summary>What the finished fold shows to <see cref="AccountState"/>.</summary>
public sealed partial class AccountFold
{
    internal LocalDate Through => through;

    internal ContractHistory Known => history;

    internal ContractStatus Status => status;

    internal ContractTerms TermsInForce => terms[^1];

    internal string State => state;

    internal LawPack? Law => law;

    internal Money? RetailValue { get; private set; }

    internal Money RentPaidWithPastDue => allocation.Paid.RentUnder(terms.Count - 1) + OpenRentUnder(terms.Count - 1) + CarriedEquity;

    internal string Jurisdiction => jurisdiction;

    internal bool PlanElected => planElected;

    internal RentSchedule Schedule => schedule;

    internal Allocation Allocation => allocation;

    internal Money RentCreditNow => RentCredit(pastDuePaid: false);

    internal Money EquityNow(bool pastDuePaid) => Equity(pastDuePaid);

    /// <summary>M, the rent credit that counts no more since the last exchange (M47).</summary>
    internal Money NotCounted => merged;

    internal bool IsOvertaken(long sequence) => overtaken.Contains(sequence);
}
