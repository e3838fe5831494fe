namespace Contracts.Store.Seals;

/// <summary>The places between two steps of a sealing, in their order; a test stops the work at each.</summary>
internal enum SealStep
{
    LockTaken,
    RowsRead,
    LeavesWritten,
    NodesWritten,
    RootWritten,
    Committed,
    SignerAsked,
    KeyStored,
    JournalWritten,
    StateWritten,
    Signed,
    NoteStored,
}
