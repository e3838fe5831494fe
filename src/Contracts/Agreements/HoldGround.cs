using System.Collections.Immutable;
using System.Text.Json;
using Contracts.History;

namespace Contracts.Agreements;

/// <summary>
/// Why a contract may be put on hold, beside whatever a shop has of its own. What a ground asks is data with its citation; it is a caution and no legal
/// advice: the law may ask for more, and counsel decides.
/// </summary>
/// <param name="Ground">Its word in commands and stored events, such as <c>bankruptcy</c>.</param>
/// <param name="Title">What it says, as a person would.</param>
/// <param name="AsksNoPayment">Whether no paper that asks for what is past due is issued under it.</param>
/// <param name="ReleaseSaysWhy">Whether whoever releases the contract says by what order or fact.</param>
/// <param name="Caution">What to be careful with.</param>
/// <param name="Citation">The section, or null where no law was found to ask for it.</param>
/// <param name="Verified">How the section was read.</param>
public sealed record HoldGround(string Ground, string Title, bool AsksNoPayment, bool ReleaseSaysWhy, string Caution, string? Citation, string Verified)
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web);

    /// <summary>Every ground.</summary>
    public static ImmutableArray<HoldGround> All { get; } = Read();

    /// <summary>The words of the grounds.</summary>
    public static string[] Words => [.. All.Select(one => one.Ground)];

    /// <summary>The ground of a word, or null where a hold has none or one that is not known any more.</summary>
    public static HoldGround? Find(string? word) => All.FirstOrDefault(one => one.Ground == word);

    /// <summary>The ground of the hold that an account is on, or null.</summary>
    public static HoldGround? InForce(AccountState account) => Find(HoldOf(account)?.Ground);

    /// <summary>The hold that an account is on, or null.</summary>
    public static ContractEvent.Held? HoldOf(AccountState account) => account.Status != ContractStatus.OnHold
        ? null
        : account.History.Facts.LastOrDefault(fact => fact.Event is ContractEvent.Held && fact.Event.On <= account.On && !account.IsOvertaken(fact.Sequence))?.Event
            as ContractEvent.Held;

    private static ImmutableArray<HoldGround> Read()
    {
        using var stream = typeof(HoldGround).Assembly.GetManifestResourceStream("hold-grounds.json")!;
        return JsonSerializer.Deserialize<ImmutableArray<HoldGround>>(stream, Options);
    }
}
