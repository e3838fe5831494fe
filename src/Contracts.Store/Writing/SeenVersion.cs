using System.Globalization;
using Contracts.Agreements;

namespace Contracts.Store.Writing;

/// <summary>Whether a contract is still what the sender of a command has seen. Asked under the lock, so that between this and the command nothing comes.</summary>
internal static class SeenVersion
{
    public static Refusal? Moved(WriteScope scope, CommandRequest request)
    {
        if (request.Version is not { } seen || request.Command is not Command.OnContract on) { return null; }
        var last = scope.Contract(on.Contract).History.Entries is [.., var entry] ? entry.Sequence : 0;
        return last == seen ? null : new Refusal(
            RefusalCode.ContractMoved, $"Something was recorded on {on.Contract} since: its last event is {last}, not {seen}. Look again, then decide.", null,
            last.ToString(CultureInfo.InvariantCulture));
    }
}
