using System.Collections.Immutable;
using Contracts.Schedule;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books.Depreciation;

/// <summary>How far apart the payments of a contract are.</summary>
public enum PaymentPeriod
{
    /// <summary>A week each.</summary>
    Week = 0,

    /// <summary>A month each.</summary>
    Month = 1,

    /// <summary>Anything else, such as a quarter, or one introductory payment for several months.</summary>
    Other = 2,
}

/// <summary>
/// What is known of a kind of contract for <see cref="RentToOwnQualification"/>. What is null is not known.
/// </summary>
public sealed record RentToOwnFacts
{
    /// <summary>The rent payments in their order, without plan, tax and fees; empty when not known.</summary>
    public ImmutableArray<Money> Payments { get; init; } = [];

    /// <summary>How far apart they are.</summary>
    public PaymentPeriod? Period { get; init; }

    /// <summary>Payment periods of the schedule, in months, before any hold, renewal or extension.</summary>
    public int? ScheduledMonths { get; init; }

    /// <summary>The longest the contract says it may be in effect, in months from its start, renewals and holds included.</summary>
    public int? MaximumMonths { get; init; }

    /// <summary>The same where the contract counts in weeks.</summary>
    public int? MaximumWeeks { get; init; }

    /// <summary>The normal retail price of the instrument.</summary>
    public Money? RetailPrice { get; init; }

    /// <summary>Whether a substantial part of the shop's contracts end with the instrument back before all is paid.</summary>
    public bool? ManyContractsEndInReturn { get; init; }

    /// <summary>Whether the instrument is of a type generally used within the home for personal use.</summary>
    public bool? UsedInTheHome { get; init; }

    /// <summary>Whether the paper is titled a rent-to-own agreement or similar.</summary>
    public bool? TitledRentToOwn { get; init; }

    /// <summary>Whether the shop keeps the title until all payments or the early purchase are made.</summary>
    public bool? ShopKeepsTitle { get; init; }

    /// <summary>Whether the family may stop at the end of any period by returning the instrument, owing nothing more and getting nothing back.</summary>
    public bool? FamilyMayStop { get; init; }

    /// <summary>Whether the family may sell, sublease or pledge the instrument before all is paid.</summary>
    public bool? FamilyMayDispose { get; init; }

    /// <summary>
    /// What the terms of a contract say: the rent of each installment, and how many months they reach. The rest stays unknown.
    /// </summary>
    public static RentToOwnFacts From(ContractTerms terms)
    {
        ArgumentNullException.ThrowIfNull(terms);
        var payments = ImmutableArray.CreateBuilder<Money>();
        var schedule = RentSchedule.FromSigning(LocalDate.MinIsoValue, terms);
        for (; schedule.HasNext; schedule = schedule.AfterNext()) { payments.Add(schedule.NextRent); }
        return new RentToOwnFacts
        {
            Payments = payments.ToImmutable(),
            Period = terms.Introductory.Months > 1 ? PaymentPeriod.Other : PaymentPeriod.Month,
            ScheduledMonths = payments.Count + Math.Max(terms.Introductory.Months - 1, 0),
            RetailPrice = terms.CashPrice,
        };
    }
}
