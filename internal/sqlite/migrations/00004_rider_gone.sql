-- A rider's own way in goes with the rider, whoever removes the rider; devices and codes go with it.

-- +goose Up
-- +goose StatementBegin
CREATE TRIGGER rider_gone_account AFTER DELETE ON rider
BEGIN
    DELETE FROM account WHERE rider_id = old.id AND role = 'rider';
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER rider_gone_account;
