using System.Collections.Frozen;

namespace Contracts.Host.Serving.SignIn;

/// <summary>A route of the API, and who may use it.</summary>
/// <param name="Method">The HTTP method.</param>
/// <param name="Route">The template of the route.</param>
/// <param name="Says">What it answers, in a sentence.</param>
/// <param name="Recorded">Whether each use is written down with its purpose before the answer.</param>
/// <param name="Roles">The roles that may use it.</param>
public sealed record Door(string Method, string Route, string Says, bool Recorded, IReadOnlyList<string> Roles)
{
    /// <summary>As lists and records name it.</summary>
    public override string ToString() => $"{Method} {Route}";
}

/// <summary>Who may use which route: the one table that routes, tests and docs/api.md are held against.</summary>
public static class Doors
{
    private static readonly string[] Everybody = [.. Roles.All];
    private static readonly string[] WholePortfolio = [Roles.Manager, Roles.Compliance, Roles.Finance, Roles.Developer, Roles.Auditor];
    private static readonly string[] Households = [Roles.Counter, Roles.Manager, Roles.Support, Roles.Compliance, Roles.Finance, Roles.Auditor];

    public static readonly Door Commands = Writes(
        "/v1/commands", "Applies one command now.", Roles.Counter, Roles.Manager, Roles.Support, Roles.Finance, Roles.Compliance);
    public static readonly Door Queue = Writes(
        "/v1/commands/queue", "Takes one command into the durable queue.", Roles.Counter, Roles.Manager, Roles.Support, Roles.Finance);
    public static readonly Door Preview = Open(
        "POST", "/v1/commands/preview", "What one command would do, or why it would be refused. Nothing is recorded but the look.", Everybody);
    public static readonly Door Find = Reads("/v1/find", "Contracts by what is in hand: an id, a household, a serial number, a reference.", Everybody);
    public static readonly Door Accounts = Reads("/v1/accounts", "Accounts as of a day, page by page or all of them.", Everybody);
    public static readonly Door Account = Reads("/v1/accounts/{contract}", "One account as of a day, as known at a moment.", Everybody);
    public static readonly Door History = Reads(
        "/v1/accounts/{contract}/history", "The events of one contract in the order of recording.", Everybody);
    public static readonly Door Stored = Reads(
        "/v1/accounts/{contract}/events", "The events of one contract as they are stored.", Everybody);
    public static readonly Door Totals = Reads(
        "/v1/accounts/{contract}/totals", "The totals that papers show, each as the events that make it.", Everybody);
    public static readonly Door Due = Reads(
        "/v1/accounts/{contract}/due.ics", "The due dates that remain, as a calendar.", Everybody);
    public static readonly Door Explain = Reads(
        "/v1/accounts/{contract}/explain/{*figure}", "One figure as a tree down to the events and rules that made it.", Everybody);
    public static readonly Door Compare = Reads(
        "/v1/accounts/{contract}/compare", "What differs between two views of an account, and which events made the difference.", Everybody);
    public static readonly Door Statement = Reads(
        "/v1/accounts/{contract}/statement", "One contract over a span of days: every movement of what is owed, and the balance after it.", Everybody);
    public static readonly Door Household = Reads(
        "/v1/households/{household}/statement", "All contracts of a family over a span of days, and how one payment would be dealt out over them.", Households);
    public static readonly Door WhatIf = new(
        "POST", "/v1/accounts/{contract}/what-if", "An account as it would be, had one thing of its history been otherwise. Nothing is recorded but the look.", true, Everybody);
    public static readonly Door Papers = Reads("/v1/accounts/{contract}/papers", "The papers that were issued on a contract.", Households);
    public static readonly Door Paper = Reads("/v1/accounts/{contract}/papers/{*paper}", "One issued paper, made again to the byte.", Households);
    public static readonly Door Dossier = new(
        "POST", "/v1/accounts/{contract}/dossier", "One contract with all its proofs, for somebody who has nothing of ours.", true,
        [Roles.Manager, Roles.Compliance, Roles.Auditor]);
    public static readonly Door Proposals = Reads("/v1/proposals", "What was proposed, and what a second person made of it.", Households);
    public static readonly Door Disputes = Reads("/v1/disputes", "What families say is wrong, and both readings of the day in question.", Households);
    public static readonly Door Portfolio = Reads("/v1/portfolio", "The totals over all accounts.", WholePortfolio);
    public static readonly Door Books = Open("GET", "/v1/books", "The trial balance through a day.", WholePortfolio);
    public static readonly Door ExplainReport = Reads(
        "/v1/reports/{report}/explain/{*figure}", "A figure of a report as a tree down to the contracts that add most to it, and their events.", WholePortfolio);
    public static readonly Door Packet = Open(
        "GET", "/v1/months/{month}/packet", "The packet of a closed month, made again.", Roles.Manager, Roles.Compliance, Roles.Finance, Roles.Auditor);
    public static readonly Door Ready = Open(
        "GET", "/v1/months/{month}/ready", "Whether a month can be closed: each check of a close, as the books stand now.", [.. Packet.Roles]);
    public static readonly Door Journal = Open("GET", "/v1/journal", "Every posting, for general accounting tools.", WholePortfolio);
    public static readonly Door LawList = Open("GET", "/v1/law", "Every law pack that is known.", Everybody);
    public static readonly Door Law = Open("GET", "/v1/law/{code}", "Every rule of one law pack.", Everybody);
    public static readonly Door Quotes = Open("POST", "/v1/quotes", "What an offer really costs, month by month. Nothing is recorded.", Everybody);
    public static readonly Door Checkpoint = Open("GET", "/v1/checkpoint", "The newest signed head of the log.", Everybody);

    public static readonly Door Unit = Reads("/v1/units/{*serial}", "One unit as of a day: where it is, who had it, what it earned.", Everybody);
    public static readonly Door DueBack = Reads("/v1/fleet/due", "Swapped units that are not back.", Everybody);
    public static readonly Door Fleet = Open("GET", "/v1/fleet", "The fleet by kind over a span of days, and its season by month.", WholePortfolio);

    public static readonly Door Check = Open(
        "GET", "/v1/check", "Every history, invariant, read model and seal, checked now; one check at a time.", Roles.Compliance, Roles.Developer, Roles.Auditor);

    public static readonly Door Results = Reads("/v1/results", "What the build of this host makes of all history, figure by figure after every event.", [.. Check.Roles]);
    public static readonly Door Differ = new(
        "POST", "/v1/results/differ", "Where the results of another build part from this one's, by cause. Nothing is recorded but the look.", true, Check.Roles);

    public static readonly Door Jobs = Open("GET", "/v1/jobs", "The runs of the day's jobs, the newest day first.", [.. Check.Roles]);
    public static readonly Door Job = Reads("/v1/jobs/{job}/{day}", "One run with what came of it: whom to remind, which papers were made, what a check found.", [.. Check.Roles]);
    public static readonly Door MoneyFileRead = Writes("/v1/money-files/read", "Takes a bank's or card processor's file in.", Roles.Manager, Roles.Finance);
    public static readonly Door MoneyFiles = Open("GET", "/v1/money-files", "The money files that were taken in.", Roles.Manager, Roles.Compliance, Roles.Finance, Roles.Auditor);
    public static readonly Door MoneyLines = Reads("/v1/money-files/lines", "Lines of money files: those that wait for a person, or all.", Roles.Manager, Roles.Finance,
        Roles.Auditor);

    /// <summary>Every route that needs a role.</summary>
    public static IReadOnlyList<Door> All { get; } =
    [
        Commands, Queue, Preview, Find, Accounts, Account, History, Stored, Totals, Explain, Compare, Statement, Household, WhatIf, Due, Papers, Paper,
        Dossier, Proposals, Disputes, Portfolio, Books, ExplainReport, Journal, Packet, Ready,
        LawList, Law, Quotes, Checkpoint, Check, Results, Differ, Jobs, Job, Unit, DueBack, Fleet, MoneyFileRead, MoneyFiles, MoneyLines,
    ];

    private static Door Reads(string route, string says, params string[] roles) => new("GET", route, says, true, roles);

    private static Door Writes(string route, string says, params string[] roles) => new("POST", route, says, false, roles);

    private static Door Open(string method, string route, string says, params string[] roles) => new(method, route, says, false, roles);
}

/// <summary>Who may send which command; the second half of the same table.</summary>
public static class CommandDoors
{
    private static readonly FrozenDictionary<string, string[]> Table = new Dictionary<string, string[]>
    {
        // Work at the counter.
        ["sign"] = [Roles.Counter, Roles.Manager],
        ["pay"] = [Roles.Counter, Roles.Manager],
        ["pay-household"] = [Roles.Counter, Roles.Manager],
        ["reverse-payment"] = [Roles.Counter, Roles.Manager, Roles.Finance],
        ["buy"] = [Roles.Counter, Roles.Manager],
        ["deliver"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["elect-plan"] = [Roles.Counter, Roles.Manager],
        ["cancel-plan"] = [Roles.Counter, Roles.Manager],
        ["swap"] = [Roles.Counter, Roles.Manager],
        ["receive-unit"] = [Roles.Counter, Roles.Manager],
        ["exchange"] = [Roles.Counter, Roles.Manager],
        ["return"] = [Roles.Counter, Roles.Manager],
        ["step-up"] = [Roles.Counter, Roles.Manager],
        ["spend-credit"] = [Roles.Counter, Roles.Manager],
        ["move"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["report-loss"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["hold"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["release"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["reinstate"] = [Roles.Counter, Roles.Manager],
        ["quote"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["issue"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["describe-household"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["report-damage"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["issue-label"] = [Roles.Counter, Roles.Manager, Roles.Support],
        // A dispute is taken in by anybody who meets the family, and answered and closed by those who may look into it.
        ["open-dispute"] = [Roles.Counter, Roles.Manager, Roles.Support, Roles.Compliance],
        ["attach-paper"] = [Roles.Counter, Roles.Manager, Roles.Support, Roles.Compliance],
        ["answer-dispute"] = [Roles.Manager, Roles.Support, Roles.Compliance],
        ["close-dispute"] = [Roles.Manager, Roles.Support, Roles.Compliance],
        // The fleet: the bench and the shipping table are at the counter; what leaves it for good is the manager's.
        ["acquire-unit"] = [Roles.Manager, Roles.Finance],
        ["inspect-unit"] = [Roles.Counter, Roles.Manager],
        ["grade-unit"] = [Roles.Counter, Roles.Manager],
        ["ship-unit"] = [Roles.Counter, Roles.Manager],
        ["deliver-unit"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["send-to-repair"] = [Roles.Counter, Roles.Manager],
        ["finish-repair"] = [Roles.Counter, Roles.Manager],
        ["retire-unit"] = [Roles.Manager],
        ["sell-unit"] = [Roles.Manager],
        ["report-missing"] = [Roles.Manager],
        ["restore-unit"] = [Roles.Manager],
        // What gives money away or takes something out for good; how much of it a role gives alone is GivingLimits.
        ["waive"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["credit"] = [Roles.Counter, Roles.Manager, Roles.Support],
        ["refund"] = [Roles.Manager],
        ["write-off"] = [Roles.Manager],
        ["recover"] = [Roles.Manager, Roles.Finance],
        ["erase-household"] = [Roles.Manager],
        // What takes two persons: anybody who sees accounts may propose, a manager or finance approves what they might have proposed.
        ["propose"] = [Roles.Counter, Roles.Manager, Roles.Support, Roles.Finance, Roles.Compliance],
        ["approve"] = [Roles.Manager, Roles.Finance],
        ["decline"] = [Roles.Counter, Roles.Manager, Roles.Support, Roles.Finance, Roles.Compliance],
        // Money files.
        ["settle-entry"] = [Roles.Finance, Roles.Manager],
        ["set-entry-aside"] = [Roles.Finance, Roles.Manager],
        // The programme and its books.
        ["set-tax"] = [Roles.Manager, Roles.Finance],
        ["set-calendar"] = [Roles.Manager, Roles.Finance],
        ["adopt-law"] = [Roles.Manager],
        ["bill"] = [Roles.Manager, Roles.Finance],
        ["close"] = [Roles.Finance],
    }.ToFrozenDictionary(StringComparer.Ordinal);

    /// <summary>The roles that may send a command; none for a name that no command has.</summary>
    public static IReadOnlyList<string> For(string command) => Table.GetValueOrDefault(command) ?? [];
}
