using Contracts.Agreements;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Households;

/// <summary>Decides what may be kept of a family, and when it may be destroyed.</summary>
public static class HouseholdDesk
{
    /// <summary>Why a household cannot be described, or null.</summary>
    public static Refusal? Fault(Command.DescribeHousehold command, HouseholdStanding standing)
    {
        if (standing.IsErased)
        {
            return new Refusal(
                RefusalCode.HouseholdErased, $"{command.Household} was erased; a family that comes back gets a new reference.", "household");
        }

        return null;
    }

    /// <summary>Why the facts themselves cannot be kept, or null.</summary>
    public static Refusal? Fault(PersonalFact fact) => fact.MayHoldCardNumber
        ? new Refusal(
            RefusalCode.PersonalFactRefused, $"'{fact.Name}' may hold a payment card's number, which is not kept here.", fact.Name, null, "PCI DSS 3.5.1, from memory")
        : null;

    /// <summary>Why a household's data cannot be destroyed on a day, or null.</summary>
    public static Refusal? Fault(Command.EraseHousehold command, HouseholdStanding standing, LocalDate today)
    {
        if (command.Origin.Reason is null)
        {
            return new Refusal(RefusalCode.ReasonMissing, "An erasure is for good and needs a reason.", "reason");
        }

        if (standing.IsErased) { return new Refusal(RefusalCode.HouseholdErased, $"{command.Household} has been erased already.", "household"); }
        if (!standing.IsDescribed) { return new Refusal(RefusalCode.HouseholdUnknown, $"Nothing is kept of {command.Household}.", "household"); }
        if (standing.Contracts.FirstOrDefault(one => one.OnHold) is { } held)
        {
            return new Refusal(RefusalCode.HouseholdInUse, $"{held.Contract} is on hold: what a dispute may need is not destroyed.", "household");
        }

        if (standing.Contracts.FirstOrDefault(one => one.Runs || one.OwesOrIsOwed) is { } open)
        {
            return new Refusal(
                RefusalCode.HouseholdInUse, $"{open.Contract} {(open.Runs ? "has not ended" : "has money open")}; the family must be reachable.", "household");
        }

        if (standing.Contracts.Count == 0) { return null; }
        var last = standing.Contracts.Select(RetentionPeriod.Of).MaxBy(period => period.Through);
        return today > last.Through
            ? null
            : new Refusal(
                RefusalCode.HouseholdRetained, $"Its records are to be kept through {Iso(last.Through)}.", "household",
                Iso(last.Through.PlusDays(1)), last.Citation);
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
