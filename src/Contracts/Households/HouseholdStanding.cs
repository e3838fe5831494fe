using Contracts.Law;
using NodaTime;

namespace Contracts.Households;

/// <summary>What a decision about a household meets.</summary>
/// <param name="IsDescribed">Whether anything is kept of it.</param>
/// <param name="IsErased">Whether it was erased.</param>
/// <param name="Contracts">Its contracts.</param>
public sealed record HouseholdStanding(bool IsDescribed, bool IsErased, IReadOnlyList<KeptContract> Contracts)
{
    public static HouseholdStanding Unknown { get; } = new(false, false, []);
}

/// <summary>A contract as far as it keeps a household's data from being erased.</summary>
/// <param name="Contract">Its id.</param>
/// <param name="Runs">Whether it has not ended.</param>
/// <param name="OnHold">Whether it is on hold: a dispute or a legal duty may need the data.</param>
/// <param name="OwesOrIsOwed">Whether money is still open on either side.</param>
/// <param name="LastDay">The last day that anything on it was about.</param>
/// <param name="Law">Its law pack, or null where none is loaded.</param>
public sealed record KeptContract(string Contract, bool Runs, bool OnHold, bool OwesOrIsOwed, LocalDate LastDay, LawPack? Law);
