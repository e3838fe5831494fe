namespace Contracts.Store.Embedded;

/// <summary>The file modes in use.</summary>
internal static class Modes
{
    /// <summary>0755: everybody may read and run or enter, the owner may write.</summary>
    public const UnixFileMode Traversable =
        UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute
        | UnixFileMode.GroupRead | UnixFileMode.GroupExecute
        | UnixFileMode.OtherRead | UnixFileMode.OtherExecute;
}
